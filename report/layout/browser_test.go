package layout_test

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
	"faultgrain/report/layout"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A browser is headless Chromium with everything unwanted written down: dialogs,
// console lines, exceptions and requests that leave the folder.
type browser struct {
	ctx  context.Context
	mu   sync.Mutex
	seen []string
}

// open starts Chromium, or skips the test where there is none. In CI there must be.
func open(t *testing.T) *browser {
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
	o := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	ctx, cancel1 := chromedp.NewExecAllocator(t.Context(), o...)
	ctx, cancel2 := chromedp.NewContext(ctx)
	ctx, cancel3 := context.WithTimeout(ctx, 90*time.Second)
	t.Cleanup(func() { cancel3(); cancel2(); cancel1() })
	b := &browser{ctx: ctx}
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

// quiet fails the test when the page did anything it should not have.
func (b *browser) quiet(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.seen {
		t.Errorf("the page did not keep quiet: %.300s", s)
	}
}

func (b *browser) load(t *testing.T, file string) {
	t.Helper()
	if err := chromedp.Do(b.ctx, chromedp.Navigate("file://"+filepath.ToSlash(file)), chromedp.WaitReady(chromedp.CSS("html[data-ready]"))); err != nil {
		b.quiet(t)
		t.Fatal(err)
	}
}

func (b *browser) size(t *testing.T, width, height int, dark bool) {
	t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(int64(width), int64(height))); err != nil {
		t.Fatal(err)
	}
}

func eval[T any](t *testing.T, b *browser, script string) T {
	t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return v
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
	b := open(t)
	file := write(t, gallery(t, plainNames), layout.Folder)
	for _, shot := range []struct {
		name  string
		width int
		dark  bool
	}{{"desktop-light", 1280, false}, {"desktop-dark", 1280, true}, {"phone-light", 360, false}, {"phone-dark", 360, true}} {
		b.size(t, shot.width, 900, shot.dark)
		b.load(t, file)
		png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, shot.name+".png"), png, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b.size(t, 1280, 900, true)
	b.load(t, file)
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "print.pdf"), pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	b.quiet(t)
}
