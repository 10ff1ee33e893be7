package report

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"faultgrain/report/browsertest"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Stop()
	os.Exit(code)
}

var nodeModules = filepath.Join("assets", "node_modules")

// draw builds the report of a fixture and returns its folder.
func draw(t *testing.T, f *fixture) string {
	t.Helper()
	out := f.write(t)
	if err := Build(t.Context(), Options{Out: out, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	return out
}

// htmlFiles are the pages of a report and the first few of its sheets.
func htmlFiles(t *testing.T, out string, sheets int) []string {
	t.Helper()
	pages, err := filepath.Glob(filepath.Join(out, "*.html"))
	if err != nil || len(pages) < 13 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	list, err := filepath.Glob(filepath.Join(out, "sheets", "*.html"))
	if err != nil || len(list) < sheets {
		t.Fatalf("%d sheets, %v", len(list), err)
	}
	return append(pages, list[:sheets]...)
}

// TestPages looks at every page on a desktop and on a phone: it keeps quiet, every chart is drawn, nothing is
// wider than the screen, and axe-core finds nothing, in light and in dark.
func TestPages(t *testing.T) {
	out := draw(t, smallShop())
	charts, looked := 0, 0
	files := htmlFiles(t, out, 2)
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".html")
		t.Run(name, func(t *testing.T) {
			b := browsertest.Open(t)
			for width, dark := range map[int]bool{1280: false, 360: true} {
				b.Size(t, width, 800, dark)
				b.Load(t, file)
				boxes, drawn := browsertest.Eval[int](t, b, `document.querySelectorAll(".chart").length`), browsertest.Eval[int](t, b, `document.querySelectorAll(".chart > div > svg, .chart > svg").length`)
				if boxes != drawn {
					t.Errorf("%d px: %d of %d charts drawn", width, drawn, boxes)
				}
				charts += boxes
				if w := browsertest.Eval[int](t, b, `document.documentElement.scrollWidth`); w > width {
					t.Errorf("the page is %d px wide on a screen of %d", w, width)
				}
				if n := browsertest.Eval[int](t, b, `document.querySelectorAll("h1").length`); n != 1 {
					t.Errorf("%d first headings", n)
				}
				for _, bad := range browsertest.Eval[[]string](t, b, brokenLinks) {
					t.Errorf("a link leads nowhere: %s", bad)
				}
				for _, f := range b.Axe(t, nodeModules) {
					t.Errorf("%d px, dark %v: %s", width, dark, f)
				}
			}
			b.Quiet(t)
			looked++
		})
	}
	if looked == len(files) && charts < 40 {
		t.Errorf("%d charts over all pages, want more", charts)
	}
}

// brokenLinks lists links to places that are not in the page, and scripts posing as links.
const brokenLinks = `[...document.querySelectorAll("a[href]")].filter((a) => {
	const href = a.getAttribute("href");
	return a.protocol !== "file:" && a.protocol !== "data:" || href.startsWith("#") && !document.getElementById(decodeURIComponent(href.slice(1)));
}).map((a) => a.outerHTML.slice(0, 120))`

// TestLinks follows every link of every page on disk: the file is there, and so is the place in it.
func TestLinks(t *testing.T) {
	out := draw(t, smallShop())
	href, id := regexp.MustCompile(`href="([^"#]*)(?:#([^"]*))?"`), regexp.MustCompile(`\bid="([^"]*)"`)
	ids := map[string]map[string]bool{}
	places := func(file string) map[string]bool {
		if ids[file] == nil {
			ids[file] = map[string]bool{}
			for _, m := range id.FindAllStringSubmatch(read(t, file), -1) {
				if ids[file][m[1]] {
					t.Errorf("%s: id %s stands twice", file, m[1])
				}
				ids[file][m[1]] = true
			}
		}
		return ids[file]
	}
	links := 0
	for _, file := range htmlFiles(t, out, 7) {
		for _, m := range href.FindAllStringSubmatch(read(t, file), -1) {
			if strings.HasPrefix(m[1], "data:") {
				continue
			}
			links++
			to := file
			if m[1] != "" {
				to = filepath.Join(filepath.Dir(file), filepath.FromSlash(m[1]))
			}
			if _, err := os.Stat(to); err != nil {
				t.Errorf("%s: %v", filepath.Base(file), err)
			} else if m[2] != "" && !places(to)[m[2]] {
				t.Errorf("%s: %s has no place %q", filepath.Base(file), filepath.Base(to), m[2])
			}
		}
	}
	if links < 300 {
		t.Errorf("only %d links looked at", links)
	}
}

// TestHeadings: on no page is a level of headings left out, whether something stands out or nothing does.
func TestHeadings(t *testing.T) {
	heading := regexp.MustCompile(`<h([1-6])[ >]`)
	for _, silent := range []bool{false, true} {
		f := smallShop()
		f.silent = silent
		for _, file := range htmlFiles(t, draw(t, f), 7) {
			level := 0
			for _, m := range heading.FindAllStringSubmatch(read(t, file), -1) {
				if next := int(m[1][0] - '0'); next > level+1 {
					t.Errorf("%s, silent %v: a heading of level %d follows one of level %d", filepath.Base(file), silent, next, level)
					break
				} else {
					level = next
				}
			}
		}
	}
}

func read(t *testing.T, file string) string {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// TestFindYourWay searches for a model from the first page, opens its sheet, and goes from a sentence of the
// month to its evidence inside a fold.
func TestFindYourWay(t *testing.T) {
	f := smallShop()
	out := draw(t, f)
	b := browsertest.Open(t)
	b.Load(t, filepath.Join(out, "index.html"))
	if n := browsertest.Eval[int](t, b, `document.querySelectorAll("ol.findings > li").length`); n == 0 || n > mostSentences {
		t.Errorf("%d sentences on the first page, want 1 to %d", n, mostSentences)
	}
	browsertest.Eval[bool](t, b, `document.getElementById("search-field").focus() === undefined`)
	for _, k := range []string{"o", "s", "t", "r", "e", "l", kb.Enter} {
		if err := chromedp.Do(b.Ctx, chromedp.KeyEvent(k)); err != nil {
			t.Fatal(err)
		}
	}
	if err := chromedp.Do(b.Ctx, chromedp.WaitReady(chromedp.CSS(`html[data-root="../"][data-ready]`))); err != nil {
		t.Fatal(err)
	}
	if got := browsertest.Eval[string](t, b, `document.querySelector("h1").textContent`); !strings.HasPrefix(got, "Ostrel") {
		t.Errorf("searching for ostrel leads to %q", got)
	}
	last := f.found[0].ID
	for _, finding := range f.found {
		if finding.Kind == "share" {
			last = finding.ID
		}
	}
	b.Load(t, filepath.Join(out, "shares.html")+"#"+last)
	inSight, err := chromedp.Run(b.Ctx, chromedp.Evaluate[bool](`new Promise((done) => { let tries = 0; const look = () => {
		const r = document.getElementById(location.hash.slice(1)).getBoundingClientRect(), seen = r.height > 0 && r.top >= 0 && r.top < innerHeight;
		if (seen || ++tries > 100) done(seen); else setTimeout(look, 30);
	}; look() })`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	if !inSight {
		t.Errorf("%s is not in sight after following a link to it", last)
	}
	b.Load(t, filepath.Join(out, "shares.html"))
	shown := func() int {
		return browsertest.Eval[int](t, b, `[...document.querySelectorAll("#t-shares tbody tr")].filter((r) => !r.hidden).length`)
	}
	all := shown()
	browsertest.Eval[bool](t, b, `(() => { const f = document.querySelector("#t-shares").closest(".scroll").previousElementSibling.querySelector("input"); f.value = "lark p3 loud"; f.dispatchEvent(new Event("input")); return true })()`)
	if n := shown(); n != 1 || all < 20 {
		t.Errorf("%d of %d rows hold lark p3 loud, want 1", n, all)
	}
	b.Quiet(t)
}

// TestFold: on a phone a long table shows its first rows, all of them when asked, and whatever the filter finds.
func TestFold(t *testing.T) {
	out := draw(t, smallShop())
	b := browsertest.Open(t)
	seen := func() int {
		return browsertest.Eval[int](t, b, `[...document.querySelectorAll("#t-shares tbody tr")].filter((r) => r.getBoundingClientRect().height > 0).length`)
	}
	b.Size(t, 1280, 800, false)
	b.Load(t, filepath.Join(out, "shares.html"))
	all := seen()
	last := browsertest.Eval[string](t, b, `[...document.querySelectorAll("#t-shares tbody tr")].at(-1).textContent`)
	b.Size(t, 360, 800, false)
	b.Load(t, filepath.Join(out, "shares.html"))
	if n := seen(); n != 12 || all < 20 {
		t.Errorf("%d of %d rows are shown, want 12", n, all)
	}
	filter := func(words string) {
		browsertest.Eval[bool](t, b, `(() => { const f = document.querySelector("#t-shares").closest(".scroll").previousElementSibling.querySelector("input"); f.value = "`+words+`"; f.dispatchEvent(new Event("input")); return true })()`)
	}
	filter("lark")
	larks := browsertest.Eval[int](t, b, `[...document.querySelectorAll("#t-shares tbody tr")].filter((r) => /lark/i.test(r.textContent)).length`)
	if n := seen(); n != larks || larks == 0 {
		t.Errorf("the filter shows %d rows, %d hold its word", n, larks)
	}
	filter("")
	browsertest.Eval[bool](t, b, `(() => { document.querySelector("#t-shares").closest(".scroll").nextElementSibling.click(); return true })()`)
	if n := seen(); n != all || browsertest.Eval[string](t, b, `[...document.querySelectorAll("#t-shares tbody tr")].at(-1).textContent`) != last {
		t.Errorf("asked for all, %d of %d rows are shown", n, all)
	}
	b.Quiet(t)
}

// TestPaper prints pages on A4 and Letter: light, every chart whole, no more sheets than expected.
func TestPaper(t *testing.T) {
	out := draw(t, smallShop())
	for name, want := range map[string][2]int{"index.html": {1, 3}, "shares.html": {3, 7}, "sheets/lark-p3.html": {2, 5}} {
		b := browsertest.Open(t)
		b.Size(t, 1280, 900, true)
		b.Load(t, filepath.Join(out, filepath.FromSlash(name)))
		for paper, size := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
			n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(b.Print(t, size), -1))
			if n < want[0] || n > want[1] {
				t.Errorf("%s on %s: %d pages, want %d to %d", name, paper, n, want[0], want[1])
			}
		}
		b.Quiet(t)
	}
}

// TestSingleFile looks at the report in one file: it asks for nothing and every chart is drawn.
func TestSingleFile(t *testing.T) {
	out := smallShop().write(t)
	file := filepath.Join(t.TempDir(), "may.html")
	if err := Build(t.Context(), Options{Out: out, SingleFile: file, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(out, "index.html")); err == nil {
		t.Error("a single file was asked for, and a folder drawn as well")
	}
	b := browsertest.Open(t)
	b.Load(t, file)
	if twice := browsertest.Eval[[]string](t, b, `[...document.querySelectorAll("[id]")].map((e) => e.id).filter((id, i, all) => all.indexOf(id) !== i)`); len(twice) > 0 {
		t.Errorf("ids that stand twice: %q", twice)
	}
	boxes, drawn := browsertest.Eval[int](t, b, `document.querySelectorAll(".chart").length`), browsertest.Eval[int](t, b, `document.querySelectorAll(".chart svg").length`)
	if boxes != drawn || boxes < 10 {
		t.Errorf("%d of %d charts drawn", drawn, boxes)
	}
	for _, bad := range browsertest.Eval[[]string](t, b, brokenLinks) {
		t.Errorf("a link leads nowhere: %s", bad)
	}
	for _, f := range b.Axe(t, nodeModules) {
		t.Error(f)
	}
	b.Quiet(t)
}

// TestHostile puts text that would do harm wherever a log's text can stand, and opens every page.
func TestHostile(t *testing.T) {
	f := hostileShop()
	out := f.write(t)
	settings := testSettings
	settings.Name = hostileTexts[0]
	settings.Notes = filepath.Join(t.TempDir(), "notes.toml")
	if err := os.WriteFile(settings.Notes, []byte("[[note]]\nfamily = \"P\"\ntext = '''"+hostileTexts[0]+hostileTexts[1]+"'''\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Build(t.Context(), Options{Out: out, Settings: settings}); err != nil {
		t.Fatal(err)
	}
	single := filepath.Join(out, "single.html")
	if err := Build(t.Context(), Options{Out: out, SingleFile: single, Settings: settings}); err != nil {
		t.Fatal(err)
	}
	for _, file := range append(htmlFiles(t, out, 6), single) {
		name := filepath.Base(file)
		if slices.Contains([]string{"components.html", "times.html", "trends.html", "prices.html", "methods.html", "models.html"}, name) {
			continue // made of the same parts as the others, and in the single file too
		}
		b := browsertest.Open(t)
		b.Size(t, 360, 700, false)
		b.Load(t, file)
		browsertest.Eval[int](t, b, openTips)
		if n := browsertest.Eval[int](t, b, `document.querySelectorAll("img, iframe, object, [onerror], [onload]").length`); n != 0 {
			t.Errorf("%s: %d elements that nobody wrote", name, n)
		}
		if w := browsertest.Eval[int](t, b, `document.documentElement.scrollWidth`); w > 360 {
			t.Errorf("%s: %d px wide on a screen of 360", name, w)
		}
		if browsertest.Eval[bool](t, b, `/[\u202a-\u202e\u2066-\u2069]/.test(document.body.textContent)`) {
			t.Errorf("%s: marks that turn the reading direction reached the page", name)
		}
		for _, bad := range browsertest.Eval[[]string](t, b, brokenLinks) {
			t.Errorf("%s: a link leads nowhere: %s", name, bad)
		}
		b.Quiet(t)
	}
}

// openTips opens the tooltip of every series of every chart.
const openTips = `(() => { let n = 0; for (const box of document.querySelectorAll(".chart")) {
	const chart = echarts.getInstanceByDom(box);
	chart.getOption().series.forEach((s, i) => { if (!s.silent) { chart.dispatchAction({type: "showTip", seriesIndex: i, dataIndex: 0}); n++; } });
} return n })()`
