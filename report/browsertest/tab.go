// Package browsertest looks at pages in headless Chromium, for the tests of the report. Whatever a page does
// that it should not is written down: dialogs, console lines, exceptions, requests that leave the folder.
// Tests that need a browser are skipped where there is none; with CI=true they fail.
package browsertest

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"faultgrain/report/assets"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// chromium is started by the first test that needs it; each test has a tab of its own.
var chromium struct {
	ctx  context.Context
	stop func()
}

// Stop ends the browser. A package that opens tabs calls it at the end of its TestMain.
func Stop() {
	if chromium.stop != nil {
		chromium.stop()
	}
}

// A Tab is a tab of headless Chromium with everything unwanted written down: dialogs,
// console lines, exceptions and requests that leave the folder.
type Tab struct {
	Ctx context.Context

	mu   sync.Mutex
	seen []string
}

// Open opens a tab, or skips the test where there is none. In CI there must be.
func Open(t *testing.T) *Tab {
	t.Helper()
	missing := func(what string) {
		if os.Getenv("CI") == "true" {
			t.Fatal(what)
		}
		t.Skip(what)
	}
	if _, err := assets.EchartsJS(); err != nil {
		missing(err.Error())
	}
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		missing("no chromium found: the page was not looked at in a browser")
	}
	if chromium.ctx == nil {
		o := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
			chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
		ctx, cancel1 := chromedp.NewExecAllocator(context.Background(), o...)
		ctx, cancel2 := chromedp.NewContext(ctx)
		if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
			t.Fatal(err)
		}
		chromium.ctx, chromium.stop = ctx, func() { cancel2(); cancel1() }
	}
	ctx, cancel1 := chromedp.NewContext(chromium.ctx)
	ctx, cancel2 := context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(func() { cancel2(); cancel1() })
	b := &Tab{Ctx: ctx}
	note := func(s string) { b.seen = append(b.seen, s) }
	err := chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := ev.(type) {
		case *page.EventJavascriptDialogOpening:
			note("dialog " + e.Message)
			go chromedp.Call(ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
		case *log.EventEntryAdded:
			note("log " + e.Entry.Text)
		case *runtime.EventConsoleAPICalled:
			note("console " + string(e.Type))
		case *runtime.EventExceptionThrown:
			text := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				text += " " + x.Description
			}
			note("exception " + text)
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(e.Request.URL, "file:") && !strings.HasPrefix(e.Request.URL, "data:") {
				note("request " + e.Request.URL)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	return b
}

// Quiet fails the test when the page did anything it should not have.
func (b *Tab) Quiet(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.seen {
		t.Errorf("the page did not keep quiet: %.300s", s)
	}
}

// Load opens a file and waits until its page is drawn.
func (b *Tab) Load(t *testing.T, file string) {
	t.Helper()
	if err := chromedp.Do(b.Ctx, chromedp.Navigate("file://"+filepath.ToSlash(file)), chromedp.WaitReady(chromedp.CSS("html[data-ready]"))); err != nil {
		b.Quiet(t)
		t.Fatal(err)
	}
}

// Size sets the size of the screen and whether it is dark.
func (b *Tab) Size(t *testing.T, width, height int, dark bool) {
	t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(b.Ctx, chromedp.EmulateViewport(int64(width), int64(height))); err != nil {
		t.Fatal(err)
	}
}

// Eval runs a script in the page.
func Eval[T any](t *testing.T, b *Tab, script string) T {
	t.Helper()
	v, err := chromedp.Run(b.Ctx, chromedp.Evaluate[T](script))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return v
}

// Seen returns what the page did that it should not have.
func (b *Tab) Seen() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.seen)
}

// Shot takes a picture of the whole page.
func (b *Tab) Shot(t *testing.T) []byte {
	t.Helper()
	png, err := chromedp.Run(b.Ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	return png
}

// Slices takes pictures of the page from top to bottom, each of the given height or less.
func (b *Tab) Slices(t *testing.T, height int) [][]byte {
	t.Helper()
	size := Eval[[]int](t, b, `[document.documentElement.clientWidth, document.documentElement.scrollHeight]`)
	var list [][]byte
	for y := 0; y < size[1]; y += height {
		shot, err := chromedp.Call(b.Ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{CaptureBeyondViewport: new(true),
			Clip: &page.Viewport{Y: float64(y), Width: float64(size[0]), Height: float64(min(height, size[1]-y)), Scale: 1}})
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, shot.Data)
	}
	return list
}

// Print prints the page to PDF.
func (b *Tab) Print(t *testing.T, paper chromedp.PaperSize) []byte {
	t.Helper()
	pdf, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
	if err != nil {
		t.Fatal(err)
	}
	return pdf
}

// Axe runs axe-core on the page, with every table open, and returns what it finds: impact, rule, element.
// nodeModules is the folder npm installed it in.
func (b *Tab) Axe(t *testing.T, nodeModules string) []string {
	t.Helper()
	axe, err := os.ReadFile(filepath.Join(nodeModules, "axe-core", "axe.min.js"))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip("axe-core is not installed: run make assets")
	}
	Eval[bool](t, b, `[...document.querySelectorAll("details")].every((d) => d.open = true)`)
	Eval[chromedp.Void](t, b, string(axe))
	found, err := chromedp.Run(b.Ctx, chromedp.Evaluate[[]string](`axe.run({preload: false, resultTypes: ["violations"]}).then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.impact + " " + v.id + ": " + n.html.slice(0, 200))))`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return found
}
