// The report's own script: draws the charts, sorts and filters tables, searches.
// Without it every page still reads as text and tables. It makes no request, builds
// no code from data and writes no HTML from data.
"use strict";
(() => {
  const root = document.documentElement;
  root.dataset.js = "";

  // ---- colours: report.css has them all -------------------------------------

  const readTheme = () => {
    const css = getComputedStyle(root);
    const colour = (name) => css.getPropertyValue("--" + name).trim();
    const numbered = (letter, n) => Array.from({ length: n }, (_, i) => colour(letter + i));
    return {
      series: numbered("s", 5),
      cells: numbered("h", 5),
      cellInks: numbered("hi", 5),
      ink: colour("ink"),
      quiet: colour("quiet"),
      rule: colour("rule"),
      card: colour("card"),
      font: css.getPropertyValue("--sans").trim(),
      tone(name) {
        const series = /^s([0-4])$/.exec(name || "");
        return series ? this.series[Number(series[1])] : this.quiet;
      },
    };
  };

  // ---- words on axes ---------------------------------------------------------

  const plain = (v) => {
    const text = String(Math.round(v * 1e4) / 1e4);
    const [whole, rest] = text.split(".");
    return whole.replace(/\B(?=(\d{3})+$)/g, ",") + (rest ? "." + rest : "");
  };
  const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const formatters = {
    share: (v) => plain(Math.round(v * 1e4) / 100) + "%",
    number: (v) => plain(v),
    minutes: (v) => (v < 120 && v !== 60 ? plain(v) + " min" : v < 2880 ? plain(v / 60) + " h" : plain(v / 1440) + " days"),
    ratio: (v) => (v < 1 ? "1/" + plain(Math.round(1 / v)) : plain(v)) + "×",
    day: (v, i) => {
      const d = new Date(v * 864e5);
      return months[d.getUTCMonth()] + (i === 0 || d.getUTCMonth() === 0 ? "\n" + d.getUTCFullYear() : "");
    },
    tip: (p) => (p.data && Array.isArray(p.data.tip) ? p.data.tip.join("\n") : ""),
  };

  // ---- marks -----------------------------------------------------------------
  // Each takes the drawing library's params and api, the theme, and the item's own
  // data, and returns shapes. Positions in value() are those set in report/charts.

  const line = (x1, y1, x2, y2, style) => ({ type: "line", shape: { x1, y1, x2, y2 }, style: { lineWidth: 1.75, ...style } });
  const poly = (points, style, type = "polygon") => ({ type, shape: { points }, style });
  const rect = (x, y, width, height, style, r = 0) => ({ type: "rect", shape: { x, y, width, height, r }, style });
  const diamond = (x, y, k, style, ky = k) => poly([[x - k, y], [x, y - ky], [x + k, y], [x, y + ky]], style);
  const known = Number.isFinite;

  const at = (api, dim, y) => {
    const v = api.value(dim);
    return known(v) ? api.coord([v, y])[0] : NaN;
  };

  // A horizontal interval with end caps; an end outside the plot becomes an arrow.
  const interval = (plot, x1, x2, y, stroke, extra = {}) => {
    const left = plot.x, right = plot.x + plot.width, shapes = [];
    const style = { stroke, ...extra };
    const a = known(x1) ? Math.max(x1, left) : NaN, b = known(x2) ? Math.min(x2, right) : NaN;
    if (!known(a) || !known(b)) return shapes;
    shapes.push(line(a, y, b, y, style));
    if (x1 < left) shapes.push(poly([[left, y], [left + 7, y - 4], [left + 7, y + 4]], { fill: stroke }));
    else shapes.push(line(a, y - 4, a, y + 4, { stroke }));
    if (x2 > right) shapes.push(poly([[right, y], [right - 7, y - 4], [right - 7, y + 4]], { fill: stroke }));
    else shapes.push(line(b, y - 4, b, y + 4, { stroke }));
    return shapes;
  };

  const marks = {
    // [estimate, row, low, high, reference, grade]; grade -1 is not a finding among findings
    whisker(p, api, theme) {
      const row = api.value(1), grade = api.value(5), est = api.value(0);
      const y = api.coord([known(est) ? est : api.value(2), row])[1], plot = p.coordSys;
      const x = Math.min(Math.max(at(api, 0, row), plot.x), plot.x + plot.width);
      const colour = grade < 0 ? theme.quiet : theme.series[0];
      const children = interval(plot, at(api, 2, row), at(api, 3, row), y, colour, grade === 3 ? { lineDash: [3, 3] } : {});
      const ref = at(api, 4, row);
      if (known(ref)) children.push(diamond(Math.min(Math.max(ref, plot.x), plot.x + plot.width), y, 5.5, { fill: theme.card, stroke: theme.series[1], lineWidth: 2 }));
      if (!known(x)) return { type: "group", children };
      children.push({ type: "circle", shape: { cx: x, cy: y, r: 5.5 }, style: { fill: grade > 1 ? theme.card : colour, stroke: grade > 1 ? colour : theme.card, lineWidth: grade > 1 ? 2 : 1.5 } });
      if (grade === 2) children.push({ type: "sector", shape: { cx: x, cy: y, r: 5.5, r0: 0, startAngle: Math.PI / 2, endAngle: (3 * Math.PI) / 2 }, style: { fill: colour } });
      return { type: "group", children };
    },

    // [estimate, row, low, high, size, spread low, spread high]; size 0 is the pooled row
    forest(p, api, theme) {
      const row = api.value(1), size = api.value(4), plot = p.coordSys;
      const y = api.coord([api.value(0), row])[1], x = at(api, 0, row);
      const low = at(api, 2, row), high = at(api, 3, row), children = [];
      if (size > 0) {
        const k = 3 + 5 * size;
        children.push(...interval(plot, low, high, y, theme.series[0]));
        if (x >= plot.x && x <= plot.x + plot.width) children.push(rect(x - k, y - k, 2 * k, 2 * k, { fill: theme.series[0], stroke: theme.card }));
        return { type: "group", children };
      }
      children.push(...interval(plot, at(api, 5, row), at(api, 6, row), y, theme.series[1], { lineDash: [4, 3] }));
      const a = known(low) ? Math.max(low, plot.x) : x - 6, b = known(high) ? Math.min(high, plot.x + plot.width) : x + 6;
      children.push(poly([[a, y], [x, y - 8], [b, y], [x, y + 8]], { fill: theme.series[1], stroke: theme.card }));
      return { type: "group", children };
    },

    // [median, row, p10, q1, q3, p90, mean, mean low, mean high]
    quantiles(p, api, theme) {
      const row = api.value(1), colour = theme.series[0], children = [];
      const where = known(api.value(0)) ? api.value(0) : api.value(6);
      const y = api.coord([where, row])[1], mid = at(api, 0, row);
      const [p10, q1, q3, p90, mean, low, high] = [2, 3, 4, 5, 6, 7, 8].map((dim) => at(api, dim, row));
      const from = known(p10) ? p10 : known(q1) ? q1 : mid, to = known(p90) ? p90 : known(q3) ? q3 : mid;
      if (known(from) && known(to)) children.push(line(from, y, to, y, { stroke: colour, lineWidth: 1.5 }));
      if (known(q1) && known(q3)) children.push(rect(q1, y - 6, q3 - q1, 12, { fill: theme.card }, 2), rect(q1, y - 6, q3 - q1, 12, { fill: colour, opacity: 0.28 }, 2), rect(q1, y - 6, q3 - q1, 12, { stroke: colour, fill: "none" }, 2));
      if (known(p90)) children.push(line(p90, y - 4, p90, y + 4, { stroke: colour }));
      if (known(p10)) children.push(line(p10, y - 4, p10, y + 4, { stroke: colour }));
      if (known(mid)) children.push(line(mid, y - 8, mid, y + 8, { stroke: colour, lineWidth: 3 }));
      if (known(low) && known(high)) children.push(line(low, y + 11, high, y + 11, { stroke: theme.series[1] }));
      if (known(mean)) children.push(diamond(mean, y + 11, 4, { fill: theme.card, stroke: theme.series[1], lineWidth: 2 }));
      return { type: "group", children };
    },

    // [x, low, high], the whole band at its first item; unknown ends cut it in two
    band(p, api, theme, own) {
      return area(p, api, theme.tone(own.tone), false);
    },
    stepband(p, api, theme, own) {
      return area(p, api, theme.tone(own.tone), true);
    },

    // [x, y, place, open]
    flag(p, api, theme) {
      const [x, y] = api.coord([api.value(0), api.value(1)]);
      if (api.value(3) === 1) return diamond(x, y, 7, { fill: theme.card, stroke: theme.series[1], lineWidth: 2 });
      return diamond(x, y, 7.5, { fill: theme.series[1], stroke: theme.card, lineWidth: 1.5 });
    },

    // [first month, y, last month]: one figure over several months
    level(p, api, theme) {
      const [x1, y] = api.coord([api.value(0), api.value(1)]), x2 = api.coord([api.value(2), api.value(1)])[0], w = api.size([1, 0])[0] * 0.35;
      return line(x1 - w, y, x2 + w, y, { stroke: theme.ink, lineWidth: 5, opacity: 0.8 });
    },

    // [x, y, low, high, colour, place, places]: an upright interval, places side by side
    upright(p, api, theme) {
      const x = api.coord([api.value(0), api.value(1)])[0] + (api.value(5) - (api.value(6) - 1) / 2) * 7;
      const y = (dim) => (known(api.value(dim)) ? api.coord([api.value(0), api.value(dim)])[1] : NaN);
      const colour = theme.series[api.value(4)], children = [];
      if (known(y(2)) && known(y(3))) children.push(line(x, y(2), x, y(3), { stroke: colour }), line(x - 3, y(2), x + 3, y(2), { stroke: colour }), line(x - 3, y(3), x + 3, y(3), { stroke: colour }));
      children.push({ type: "circle", shape: { cx: x, cy: y(1), r: 4.5 }, style: { fill: colour, stroke: theme.card, lineWidth: 1.5 } });
      return { type: "group", children };
    },

    // [column, row, class, firm]
    cell(p, api, theme, own, item) {
      const [x, y] = api.coord([api.value(0), api.value(1)]), [w, h] = api.size([1, 1]).map(Math.abs);
      const shade = api.value(2), firm = api.value(3) === 1, gap = firm ? 2 : 1;
      const children = [rect(x - w / 2 + gap, y - h / 2 + gap, w - 2 * gap, h - 2 * gap, { fill: theme.cells[shade], stroke: firm ? theme.ink : "none", lineWidth: firm ? 2 : 0 }, 2)];
      const size = w < 34 ? 10 : 12.5;
      if (item.text.length * size * 0.6 < w - 2) children.push({ type: "text", style: { x, y, text: item.text, fill: theme.cellInks[shade], align: "center", verticalAlign: "middle", font: (firm ? "600 " : "") + size + "px " + theme.font } });
      return { type: "group", children };
    },

    // [from, lane, to, grade]
    span(p, api, theme, own, item) {
      const lane = api.value(1), grade = api.value(3), plot = p.coordSys;
      const y = api.coord([api.value(0), lane])[1], a = at(api, 0, lane), b = Math.max(at(api, 2, lane), a + 5);
      const styles = [
        { fill: theme.quiet },
        { fill: theme.series[1], stroke: theme.series[1], lineWidth: 2 },
        { fill: theme.card, stroke: theme.series[1], lineWidth: 2 },
        { fill: theme.card, stroke: theme.quiet, lineWidth: 1.5, lineDash: [3, 3] },
      ];
      const children = [rect(a, y - 8, b - a, 16, styles[grade] || styles[0], 3)];
      if (grade === 2) children.push(rect(a, y - 8, b - a, 16, { fill: theme.series[1], opacity: 0.28 }, 3));
      const wide = (item.text || "").length * 6.6;
      const words = (x, align) => children.push({ type: "text", style: { x, y, text: item.text, fill: theme.ink, align, verticalAlign: "middle", font: "12px " + theme.font } });
      if (wide && b + 8 + wide < plot.x + plot.width) words(b + 8, "left");
      else if (wide && a - 8 - wide > plot.x) words(a - 8, "right");
      return { type: "group", children };
    },

    // [value, row, ours]
    bar(p, api, theme) {
      const row = api.value(1), [x, y] = api.coord([api.value(0), row]), zero = p.coordSys.x, ours = api.value(2) === 1;
      return rect(zero, y - 8, Math.max(x - zero, 1), 16, ours ? { fill: theme.series[0] } : { fill: theme.rule, stroke: theme.quiet, lineWidth: 1 }, [0, 2, 2, 0]);
    },
  };

  const area = (p, api, fill, step) => {
    if (p.dataIndexInside !== 0) return null;
    const children = [];
    let up = [], down = [];
    const close = () => {
      if (up.length > 1) children.push(poly(up.concat(down.reverse()), { fill, opacity: 0.18 }));
      up = [];
      down = [];
    };
    for (let i = 0; i < p.dataInsideLength; i++) {
      const x = api.value(0, i), low = api.value(1, i), high = api.value(2, i);
      if (!known(low) || !known(high)) {
        close();
        continue;
      }
      const a = api.coord([x, low]), b = api.coord([x, high]);
      if (step && up.length) {
        up.push([b[0], up[up.length - 1][1]]);
        down.push([a[0], down[down.length - 1][1]]);
      }
      up.push(b);
      down.push(a);
    }
    close();
    return { type: "group", children, silent: true };
  };

  // A name from an option is looked up in a fixed table and nowhere else.
  const resolve = (table, name) => {
    const key = typeof name === "string" && name.startsWith("fn:") ? name.slice(3) : "";
    if (!Object.prototype.hasOwnProperty.call(table, key)) throw new Error("the chart names a function the report does not have: " + name);
    return table[key];
  };

  // ---- drawing ---------------------------------------------------------------

  const narrowBelow = 560;

  // Fits an option to its box and theme. Functions are resolved at three places
  // only: axis labels, the tooltip, and a custom series' renderItem.
  const dress = (option, theme, width) => {
    const narrow = width < narrowBelow, frame = option.frame;
    delete option.frame;
    const text = { fontFamily: theme.font, fontSize: 13, color: theme.ink };
    option.textStyle = text;
    option.color = theme.series;
    option.tooltip.formatter = resolve(formatters, option.tooltip.formatter);
    Object.assign(option.tooltip, { backgroundColor: theme.card, borderColor: theme.quiet, borderWidth: 1, padding: [8, 10], textStyle: { ...text, lineHeight: 19 } });

    const above = narrow && frame.rows > 0; // a row's words stand above its mark, not beside it
    const labels = above ? 18 : frame.labels ? Math.min(frame.labels, Math.round(width * (narrow ? 0.4 : 0.34))) : 46;
    const values = frame.values && !narrow ? Math.min(frame.values, Math.round(width * 0.26)) : 18;
    option.grid = { left: labels, right: values, top: frame.top + (frame.labels ? 0 : 22), bottom: frame.bottom, containLabel: false };

    for (const axis of [...option.xAxis, ...option.yAxis]) {
      const label = (axis.axisLabel = axis.axisLabel || {});
      if (narrow && label.formatter === "fn:day") {
        label.customValues = label.customValues.filter((v) => new Date(v * 864e5).getUTCMonth() % 3 === 0);
        axis.axisTick.customValues = label.customValues;
      }
      if (label.formatter) label.formatter = resolve(formatters, label.formatter);
      Object.assign(label, { color: theme.ink, fontSize: narrow ? 12 : 13, fontFamily: theme.font });
      axis.nameTextStyle = { color: theme.quiet, fontSize: narrow ? 12 : 13, fontFamily: theme.font };
      if (axis.splitLine && axis.splitLine.show !== false) axis.splitLine.lineStyle = { color: theme.rule, width: 1 };
    }
    if (!frame.labels) Object.assign(option.yAxis[0].nameTextStyle, { align: "left", padding: [0, 0, 2, 8 - labels] });
    if (frame.labels) {
      const [left, right] = option.yAxis;
      if (above) {
        const letters = Math.floor((width - 2 * labels) / 5.9);
        left.data = left.data.map((name, i) => {
          const words = right && right.data[i] ? "   " + right.data[i] : "", room = letters - words.length;
          return (name.length > room ? name.slice(0, Math.max(room - 1, 8)) + "…" : name) + words;
        });
        Object.assign(left.axisLabel, { inside: true, align: "left", verticalAlign: "bottom", margin: 0, padding: [0, 0, 10, 0], width: width - 2 * labels, textBorderColor: theme.card, textBorderWidth: 3 });
        left.z = 10;
        if (right) right.show = false;
      } else {
        Object.assign(left.axisLabel, { width: labels - 12, margin: 10 });
        if (right) Object.assign(right.axisLabel, { color: theme.ink, width: values - 12, margin: 10 });
      }
      const across = option.xAxis[0].axisLabel;
      if (across.rotate) Object.assign(across, { width: frame.bottom * 1.35 - 14, rotate: narrow ? 90 : across.rotate });
      if (across.rotate === 90) across.width = frame.bottom - 12;
    }
    for (const series of option.series) {
      const tone = theme.tone(series.tone);
      if (series.type === "line") {
        series.lineStyle.color = tone;
        series.itemStyle = { color: tone, borderColor: theme.card, borderWidth: 1 };
        for (const item of series.data) {
          if (item.open) Object.assign(item, { symbolSize: 9, itemStyle: { color: theme.card, borderColor: tone, borderWidth: 2 } });
        }
        series.emphasis = { disabled: true };
      } else {
        const mark = resolve(marks, series.renderItem), own = { tone: series.tone }, items = series.data;
        series.renderItem = (p, api) => mark(p, api, theme, own, items[p.dataIndex]);
        series.clip = false;
      }
      if (series.markLine) series.markLine.z = 1;
      if (series.markLine) series.markLine.lineStyle = { color: theme.quiet, type: [5, 4], width: 1.5 };
    }
    return option;
  };

  const draw = (box, theme, forcedWidth) => {
    const option = JSON.parse(document.getElementById(box.id + "-data").textContent);
    const width = forcedWidth || box.clientWidth, rows = option.frame.rows;
    const height = Number(box.dataset.px) + (width < narrowBelow ? rows * 18 : 0);
    box.style.height = height + "px";
    const old = echarts.getInstanceByDom(box);
    if (old) old.dispose();
    const chart = echarts.init(box, null, { renderer: "svg", width, height });
    chart.setOption(dress(option, theme, width));
    for (const svg of box.querySelectorAll("svg")) svg.setAttribute("aria-hidden", "true");
  };

  const drawAll = (width) => {
    const theme = readTheme();
    for (const box of document.querySelectorAll(".chart")) {
      try {
        draw(box, theme, width);
      } catch (err) {
        box.textContent = "This chart could not be drawn. Its numbers are in the table below.";
        box.style.height = "auto";
        setTimeout(() => { throw err; });
      }
    }
  };

  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => drawAll());

  let resizing = 0, drawnAt = innerWidth;
  addEventListener("resize", () => {
    clearTimeout(resizing);
    resizing = setTimeout(() => {
      if (innerWidth !== drawnAt) drawAll();
      drawnAt = innerWidth;
    }, 120);
  });

  // Paper is light, and as wide as A4 and Letter have room for.
  let opened = [];
  addEventListener("beforeprint", () => {
    root.dataset.theme = "light";
    opened = [...document.querySelectorAll("details:not([open])")].filter((d) => !d.closest(".beside"));
    for (const d of opened) d.open = true;
    drawAll(680);
  });
  addEventListener("afterprint", () => {
    delete root.dataset.theme;
    for (const d of opened) d.open = false;
    drawAll();
  });

  // ---- tables ----------------------------------------------------------------

  const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();

  // Unknown cells stay last whichever way the rest is sorted.
  const sortTable = (table, column, descending) => {
    const body = table.tBodies[0];
    const numeric = table.tHead.rows[0].cells[column].classList.contains("num");
    const keyed = [...body.rows].map((row, i) => {
      const cell = row.cells[column];
      const text = cell.dataset.v !== undefined ? cell.dataset.v : cell.textContent.trim();
      const key = numeric ? parseFloat(text) : text;
      return { row, i, key, unknown: numeric ? Number.isNaN(key) : text === "" || text === "–" };
    });
    const sign = descending ? -1 : 1;
    keyed.sort((a, b) => a.unknown - b.unknown || (a.unknown ? 0 : sign * (numeric ? a.key - b.key : collator.compare(a.key, b.key))) || a.i - b.i);
    body.append(...keyed.map((k) => k.row));
  };

  // On a phone each cell of a wide table carries its column's name; report.css shows it.
  for (const table of document.querySelectorAll("table.wide")) {
    const heads = [...table.tHead.rows[0].cells].map((th) => th.textContent.trim());
    for (const row of table.tBodies[0].rows) {
      for (const cell of row.cells) if (cell.tagName === "TD") cell.dataset.head = heads[cell.cellIndex];
    }
  }

  for (const table of document.querySelectorAll("table.sortable")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((th, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...th.childNodes);
      th.append(button);
      button.addEventListener("click", () => {
        const numbersFirstHigh = th.classList.contains("num") && !th.hasAttribute("aria-sort");
        const descending = th.getAttribute("aria-sort") === "ascending" || numbersFirstHigh;
        for (const other of heads) other.removeAttribute("aria-sort");
        th.setAttribute("aria-sort", descending ? "descending" : "ascending");
        sortTable(table, column, descending);
      });
    });
  }

  // On a phone a long table shows its first rows, and the others when asked; report.css has the number.
  for (const table of document.querySelectorAll("table.sortable")) {
    const rows = table.tBodies[0].rows.length;
    if (rows <= 16) continue;
    const more = document.createElement("button");
    more.type = "button";
    more.className = "more";
    more.textContent = "Show all " + plain(rows) + " rows";
    const scroll = table.closest(".scroll") || table;
    more.addEventListener("click", () => {
      table.classList.remove("folded");
      scroll.focus({ preventScroll: true }); // the button is gone now
    });
    table.classList.add("folded");
    scroll.after(more);
  }

  let fields = 0;
  for (const table of document.querySelectorAll("table.filterable")) {
    const rows = [...table.tBodies[0].rows].map((row) => ({ row, text: fold(row.textContent) }));
    const field = document.createElement("input");
    field.type = "search";
    field.autocomplete = "off";
    field.id = "filter-" + ++fields;
    const label = document.createElement("label");
    label.htmlFor = field.id;
    label.textContent = "Show only rows with";
    const count = document.createElement("output");
    count.htmlFor = field.id;
    const bar = document.createElement("div");
    bar.className = "filter";
    bar.append(label, field, count);
    const scroll = table.closest(".scroll") || table;
    scroll.before(bar);
    field.addEventListener("input", () => {
      const words = fold(field.value).split(/\s+/).filter(Boolean);
      let shown = 0;
      for (const { row, text } of rows) {
        row.hidden = !words.every((w) => text.includes(w));
        if (!row.hidden) shown++;
      }
      table.classList.toggle("filtered", words.length > 0);
      count.textContent = words.length ? shown + " of " + rows.length + " rows" : "";
    });
  }

  // ---- search ----------------------------------------------------------------

  // The index is a list of [name, kind, link from the report's first folder].
  const index = () => {
    const block = document.getElementById("search-index");
    if (block) return JSON.parse(block.textContent);
    return Array.isArray(window.searchIndex) ? window.searchIndex : [];
  };

  const search = document.getElementById("search");
  if (search) {
    const entries = index().map(([name, kind, href]) => ({ name, kind, href, text: fold(name + " " + kind) }));
    const field = search.querySelector("input"), list = search.querySelector("ul"), status = search.querySelector("output");
    const base = root.dataset.root || "";
    // A link is a page or a place in this report: no scheme, no host.
    const safe = (href) => /^[\w#][\w\-./#%]*$/.test(href);
    const show = () => {
      const words = fold(field.value).split(/\s+/).filter(Boolean);
      const hits = words.length ? entries.filter((e) => safe(e.href) && words.every((w) => e.text.includes(w))) : [];
      hits.sort((a, b) => b.text.startsWith(words[0]) - a.text.startsWith(words[0]));
      list.replaceChildren(...hits.slice(0, 12).map((e) => {
        const item = document.createElement("li"), link = document.createElement("a"), kind = document.createElement("span");
        link.href = e.href.startsWith("#") ? e.href : base + e.href;
        link.textContent = e.name;
        kind.textContent = e.kind;
        link.append(" ", kind);
        item.append(link);
        return item;
      }));
      list.hidden = hits.length === 0;
      status.textContent = !words.length ? "" : hits.length === 0 ? "nothing found" : hits.length + " found";
    };
    const hide = () => { list.hidden = true; };
    field.addEventListener("input", show);
    field.addEventListener("focus", show);
    search.addEventListener("submit", (e) => {
      e.preventDefault();
      const first = list.querySelector("a");
      if (first && !list.hidden) first.click();
    });
    search.addEventListener("keydown", (e) => {
      const stops = [field, ...list.querySelectorAll("a")], here = stops.indexOf(document.activeElement);
      if (e.key === "Escape") {
        field.focus();
        hide();
      } else if (e.key === "ArrowDown" || e.key === "ArrowUp") {
        e.preventDefault();
        const next = stops[here + (e.key === "ArrowDown" ? 1 : -1)];
        if (next && !list.hidden) next.focus();
      }
    });
    list.addEventListener("click", () => { hide(); field.value = ""; });
    document.addEventListener("click", (e) => { if (!search.contains(e.target)) hide(); });
    search.hidden = false;
  }

  // On a phone the list of pages is one line that can be pushed; the page one is on is in sight.
  const here = document.querySelector("nav.pages [aria-current]"), strip = here && here.closest("nav");
  if (strip && strip.scrollWidth > strip.clientWidth) strip.scrollLeft = here.offsetLeft - strip.clientWidth / 2 + here.offsetWidth / 2;

  // ---- folds -----------------------------------------------------------------

  // A link to a place inside a fold opens it.
  const unfold = () => {
    const place = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!place) return;
    let opened = false;
    for (let e = place.parentElement; e; e = e.parentElement) {
      if (e.tagName === "DETAILS" && !e.open) opened = e.open = true;
    }
    if (opened) place.scrollIntoView();
  };
  addEventListener("hashchange", unfold);
  unfold();

  // ---- begin -----------------------------------------------------------------

  drawAll();
  performance.mark("drawn");
  root.dataset.ready = "";
})();
