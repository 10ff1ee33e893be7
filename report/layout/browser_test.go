package layout_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"faultgrain/report/browsertest"
	"faultgrain/report/layout"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Stop()
	os.Exit(code)
}

// write puts a page in a folder of its own and returns the file.
func write(t *testing.T, p layout.Page, mode layout.Mode) string {
	t.Helper()
	dir := t.TempDir()
	if mode == layout.Folder {
		files, err := layout.Assets(p.Search)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			name := filepath.Join(dir, filepath.FromSlash(f.Name))
			if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(name, f.Data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	name := filepath.Join(dir, "index.html")
	out, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Write(out, mode); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestShots writes screenshots and a PDF of the gallery to the folder named by
// FAULTGRAIN_SHOTS, for people to look at.
func TestShots(t *testing.T) {
	dir := os.Getenv("FAULTGRAIN_SHOTS")
	if dir == "" {
		t.Skip("FAULTGRAIN_SHOTS names no folder")
	}
	b := browsertest.Open(t)
	file := write(t, gallery(t, plainNames), layout.Folder)
	for _, shot := range []struct {
		name  string
		width int
		dark  bool
	}{{"desktop-light", 1280, false}, {"desktop-dark", 1280, true}, {"phone-light", 360, false}, {"phone-dark", 360, true}, {"tablet-light", 768, false}} {
		b.Size(t, shot.width, 900, shot.dark)
		b.Load(t, file)
		png, err := chromedp.Run(b.Ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, shot.name+".png"), png, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b.Size(t, 1280, 900, true)
	b.Load(t, file)
	pdf, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "print.pdf"), pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	b.Quiet(t)
}

// hostileNames is what a log may hold where a name belongs.
var hostileNames = []string{
	`</script><script>alert(1)</script>`, `"><img src=x onerror=alert(2)>`, `__f__alert(3)__f__`, `<!--<script>`,
	`__proto__`, `constructor`, `fn:whisker`, `{a|x}{b}`, "evil\u202ename\u2066", "line\u2028break\u2029", strings.Repeat("long ", 2000),
}

const chartCount = 11

// tooltips opens the tooltip of every series of every chart and counts them.
const tooltips = `(() => { let n = 0; for (const box of document.querySelectorAll(".chart")) {
	const chart = echarts.getInstanceByDom(box);
	chart.getOption().series.forEach((s, i) => { if (!s.silent) { chart.dispatchAction({type: "showTip", seriesIndex: i, dataIndex: 0}); n++; } });
} return n })()`

// TestHostileNames draws the whole gallery with hostile text in every place, in both
// kinds of page, light, dark and on paper, with every tooltip open.
func TestHostileNames(t *testing.T) {
	b := browsertest.Open(t)
	p := gallery(t, hostileNames)
	p.Shop, p.Title, p.Period = hostileNames[0], hostileNames[1], hostileNames[8]
	for name, mode := range map[string]layout.Mode{"folder": layout.Folder, "single": layout.SingleFile} {
		file := write(t, p, mode)
		for _, dark := range []bool{false, true} {
			b.Size(t, 1000, 800, dark)
			b.Load(t, file)
			if n := browsertest.Eval[int](t, b, `document.querySelectorAll(".chart svg").length`); n != chartCount {
				t.Errorf("%s: %d charts drawn, want %d", name, n, chartCount)
			}
			if n := browsertest.Eval[int](t, b, tooltips); n < chartCount {
				t.Errorf("%s: %d tooltips opened", name, n)
			}
			if got := browsertest.Eval[string](t, b, `document.querySelector("#t-models tbody th").textContent`); got != hostileNames[0] {
				t.Errorf("%s: a name is shown as %q, want it as it is", name, got)
			}
			if n := browsertest.Eval[int](t, b, `document.querySelectorAll("img").length + document.querySelectorAll("script:not([src]):not([type])").length`); mode == layout.Folder && n != 0 || n > 2 {
				t.Errorf("%s: %d images and scripts that nobody wrote", name, n)
			}
			if got := browsertest.Eval[string](t, b, `document.body.textContent.match(/[\u202a-\u202e\u2066-\u2069]/) ? "turned" : ""`); got != "" {
				t.Errorf("%s: marks that turn the reading direction reached the page", name)
			}
		}
		browsertest.Eval[bool](t, b, `(() => { const f = document.getElementById("search-field"); f.value = "alert"; f.dispatchEvent(new Event("input", {bubbles: true})); return true })()`)
		if n := browsertest.Eval[int](t, b, `document.querySelectorAll("#search li a").length`); n != 3 {
			t.Errorf("%s: searching for alert finds %d names, want the 3 that hold it", name, n)
		}
		if n := browsertest.Eval[int](t, b, `[...document.querySelectorAll("a")].filter((a) => a.protocol === "javascript:").length`); n != 0 {
			t.Errorf("%s: %d links are scripts", name, n)
		}
		if _, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4))); err != nil {
			t.Fatal(err)
		}
	}
	b.Quiet(t)
}

// TestUnknownFunction: a name outside the fixed table is an error on the console and a
// sentence in the page, and the other charts are drawn.
func TestUnknownFunction(t *testing.T) {
	b := browsertest.Open(t)
	file := write(t, gallery(t, plainNames), layout.Folder)
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := string(raw)
	wrong := map[string]string{"pool": "nope", "times": "constructor", "alarms": "__proto__", "backtest": "hasOwnProperty"}
	for id, known := range map[string]string{"pool": "forest", "times": "quantiles", "alarms": "span", "backtest": "bar"} {
		text = strings.ReplaceAll(text, `"fn:`+known+`"`, `"fn:`+wrong[id]+`"`)
	}
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	b.Load(t, file)
	if n := browsertest.Eval[int](t, b, `document.querySelectorAll(".chart svg").length`); n != chartCount-len(wrong) {
		t.Errorf("%d charts drawn, want %d", n, chartCount-len(wrong))
	}
	seen := b.Seen()
	console := strings.Join(seen, "\n")
	for id, name := range wrong {
		if got := browsertest.Eval[string](t, b, `document.getElementById("`+id+`").textContent`); !strings.Contains(got, "could not be drawn") {
			t.Errorf("fn:%s: the chart's place says %q", name, got)
		}
		if !strings.Contains(console, "a function the report does not have: fn:"+name) {
			t.Errorf("fn:%s: the console has %q", name, console)
		}
	}
	if len(seen) != len(wrong) {
		t.Errorf("the console has %q", seen)
	}
}

// press sends keys to the focused element.
func press(t *testing.T, b *browsertest.Tab, keys ...string) {
	t.Helper()
	for _, k := range keys {
		if err := chromedp.Do(b.Ctx, chromedp.KeyEvent(k)); err != nil {
			t.Fatal(err)
		}
	}
}

func TestKeyboard(t *testing.T) {
	b := browsertest.Open(t)
	b.Size(t, 1280, 900, false)
	b.Load(t, write(t, gallery(t, plainNames), layout.Folder))
	focus := func(selector string) {
		t.Helper()
		if !browsertest.Eval[bool](t, b, `(() => { const e = document.querySelector(`+"`"+selector+"`"+`); e.focus(); return document.activeElement === e })()`) {
			t.Fatalf("%s can't have the focus", selector)
		}
	}
	first := func() string {
		return browsertest.Eval[string](t, b, `document.querySelector("#t-models tbody tr th").textContent`)
	}
	sorted := func(column int) string {
		return browsertest.Eval[string](t, b, `document.querySelectorAll("#t-models thead th")[`+string(rune('0'+column))+`].getAttribute("aria-sort") || ""`)
	}

	// The first stop is the skip link.
	press(t, b, kb.Tab)
	if got := browsertest.Eval[string](t, b, `document.activeElement.className`); got != "skip" {
		t.Errorf("the first tab stop is %q, want the skip link", got)
	}

	// Sorting: figures start with the largest, words with A; a second press turns it round.
	for _, step := range []struct {
		column      int
		key         string
		order, want string
	}{
		{1, kb.Enter, "descending", "loudspeaker"}, {1, " ", "ascending", "mainboard"},
		{0, kb.Enter, "ascending", "back glass"}, {0, kb.Enter, "descending", "rear camera"},
		{5, kb.Enter, "ascending", "proximity sensor"}, // firm first; among equals the order before stays
	} {
		focus(`#t-models thead th:nth-child(` + string(rune('1'+step.column)) + `) button`)
		press(t, b, step.key)
		if sorted(step.column) != step.order || first() != step.want {
			t.Errorf("column %d, key %q: sorted %q, first row %q; want %q, %q", step.column, step.key, sorted(step.column), first(), step.order, step.want)
		}
		if n := browsertest.Eval[int](t, b, `document.querySelectorAll("#t-models th[aria-sort]").length`); n != 1 {
			t.Errorf("%d columns say they are sorted", n)
		}
	}

	// Filtering.
	focus(`main > .filter input`)
	press(t, b, "b", "a", "t")
	if n := browsertest.Eval[int](t, b, `[...document.querySelectorAll("#t-models tbody tr")].filter((r) => !r.hidden).length`); n != 1 {
		t.Errorf("filtering for bat shows %d rows, want 1", n)
	}
	if got := browsertest.Eval[string](t, b, `document.querySelector("main > .filter output").textContent`); got != "1 of 11 rows" {
		t.Errorf("the filter says %q", got)
	}

	// Search: type, go down to the second hit, leave with Escape, go with Enter.
	focus(`#search-field`)
	press(t, b, "c", "a", "m", "e", kb.ArrowDown)
	if got := browsertest.Eval[string](t, b, `document.activeElement.textContent`); got != "rear camera component" {
		t.Errorf("arrow down from the search box is on %q", got)
	}
	press(t, b, kb.Escape)
	if got := browsertest.Eval[string](t, b, `document.activeElement.id + document.querySelector("#search ul").hidden`); got != "search-fieldtrue" {
		t.Errorf("Escape leads to %q", got)
	}
	press(t, b, "r", kb.Enter)
	if got := browsertest.Eval[string](t, b, `location.hash`); got != "#t-models" {
		t.Errorf("Enter in the search box leads to %q", got)
	}
	b.Quiet(t)
}

// TestPhone: nothing is wider than the narrowest screen, and no text of a chart is cut
// off at its edges.
func TestPhone(t *testing.T) {
	b := browsertest.Open(t)
	b.Size(t, 360, 740, false)
	for _, names := range [][]string{plainNames, hostileNames} {
		b.Load(t, write(t, gallery(t, names), layout.Folder))
		if w := browsertest.Eval[int](t, b, `document.documentElement.scrollWidth`); w > 360 {
			t.Errorf("the page is %d px wide on a screen of 360", w)
		}
		out := browsertest.Eval[[]string](t, b, `[...document.querySelectorAll(".chart")].flatMap((box) => { const b = box.getBoundingClientRect();
			return [...box.querySelectorAll("text")].filter((t) => { const r = t.getBoundingClientRect(); return r.width && (r.left < b.left - 1 || r.right > b.right + 1 || r.top < b.top - 1 || r.bottom > b.bottom + 1); }).map((t) => box.id + ": " + t.textContent.slice(0, 60)) })`)
		for _, s := range out {
			t.Errorf("cut off: %s", s)
		}
	}
	b.Quiet(t)
}

// TestPaper: printing from a dark screen gives light charts of the paper's width with
// the tables open, and afterwards all is as before.
func TestPaper(t *testing.T) {
	b := browsertest.Open(t)
	b.Size(t, 1280, 900, true)
	b.Load(t, write(t, gallery(t, plainNames), layout.Folder))
	state := `(() => { const dot = [...document.querySelectorAll("#shares svg path")].map((e) => e.getAttribute("fill")).find((f) => f === "#005282" || f === "#77bdeb");
		return [dot, document.querySelector("#shares svg").getAttribute("width"), document.querySelectorAll("details[open]").length].join(" ") })()`
	before := browsertest.Eval[string](t, b, state)
	browsertest.Eval[bool](t, b, `dispatchEvent(new Event("beforeprint"))`)
	if got := browsertest.Eval[string](t, b, state); got != "#005282 680 2" {
		t.Errorf("before printing the first chart is %q, want light, 680 px, 2 tables open", got)
	}
	browsertest.Eval[bool](t, b, `dispatchEvent(new Event("afterprint"))`)
	if got := browsertest.Eval[string](t, b, state); got != before || !strings.HasPrefix(got, "#77bdeb") || !strings.HasSuffix(got, " 0") {
		t.Errorf("after printing the first chart is %q, before it was %q", got, before)
	}
	for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
		pdf, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
		if err != nil {
			t.Fatal(err)
		}
		if n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1)); n < 6 || n > 10 {
			t.Errorf("%s: the gallery prints on %d pages, want 6 to 10", name, n)
		}
	}
	b.Quiet(t)
}

// TestNoScript: without scripts the tables stand and the empty charts do not.
func TestNoScript(t *testing.T) {
	b := browsertest.Open(t)
	if _, err := chromedp.Call(b.Ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	file := write(t, gallery(t, plainNames), layout.Folder)
	if err := chromedp.Do(b.Ctx, chromedp.Navigate("file://"+filepath.ToSlash(file)), chromedp.WaitVisible(chromedp.CSS("#t-models")), chromedp.WaitVisible(chromedp.CSS("noscript")), chromedp.WaitNotVisible(chromedp.CSS(".plot")), chromedp.WaitNotVisible(chromedp.CSS("#search"))); err != nil {
		t.Fatal(err)
	}
	b.Quiet(t)
}

// TestAccessibility runs axe-core on the gallery, with all tables open, in light and dark.
func TestAccessibility(t *testing.T) {
	b := browsertest.Open(t)
	file := write(t, gallery(t, plainNames), layout.Folder)
	for width, dark := range map[int]bool{1280: false, 360: true} {
		b.Size(t, width, 900, dark)
		b.Load(t, file)
		for _, f := range b.Axe(t, filepath.Join("..", "assets", "node_modules")) {
			t.Errorf("%d px, dark %v: %s", width, dark, f)
		}
	}
	b.Quiet(t)
}
