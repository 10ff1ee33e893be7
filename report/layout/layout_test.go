package layout_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"faultgrain/report/assets"
	"faultgrain/report/layout"
	"faultgrain/schemas"
)

func needAssets(t *testing.T) {
	t.Helper()
	if _, err := assets.EchartsJS(); errors.Is(err, assets.ErrNotBuilt) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
}

func render(t *testing.T, p layout.Page, mode layout.Mode) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b, mode); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestSameBytes(t *testing.T) {
	needAssets(t)
	for _, mode := range []layout.Mode{layout.Folder, layout.SingleFile} {
		first := render(t, gallery(t, hostileNames), mode)
		for range 3 {
			if render(t, gallery(t, hostileNames), mode) != first {
				t.Fatalf("mode %d: the same page was written in two ways", mode)
			}
		}
	}
	a, err := layout.Assets(galleryIndex(hostileNames))
	if err != nil {
		t.Fatal(err)
	}
	b, _ := layout.Assets(galleryIndex(hostileNames))
	for i := range a {
		if a[i].Name != b[i].Name || !bytes.Equal(a[i].Data, b[i].Data) {
			t.Errorf("%s differs from one call to the next", a[i].Name)
		}
	}
}

// TestPolicy reads a single-file page as a browser does: the policy names the hash of
// each script and style exactly as they stand, in the first lines, and nothing else.
func TestPolicy(t *testing.T) {
	needAssets(t)
	page := render(t, gallery(t, hostileNames), layout.SingleFile)
	m := regexp.MustCompile(`<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="([^"]*)">`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("the policy does not follow the charset")
	}
	policy := strings.NewReplacer("&#39;", "'", "&#43;", "+", "&#34;", `"`).Replace(m[1])
	if !strings.HasPrefix(policy, "default-src 'none'; ") || strings.Contains(policy, "unsafe") {
		t.Errorf("policy is %s", policy)
	}
	for _, tag := range []struct {
		open, shut string
		n          int
	}{{"<script>", "</script>", 2}, {"<style>", "</style>", 1}} {
		rest, n := page, 0
		for {
			_, after, ok := strings.Cut(rest, tag.open)
			if !ok {
				break
			}
			text, left, _ := strings.Cut(after, tag.shut)
			sum := sha256.Sum256([]byte(text))
			if !strings.Contains(policy, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'") {
				t.Errorf("the policy does not allow %s%.60s...", tag.open, text)
			}
			rest, n = left, n+1
		}
		if n != tag.n || n != strings.Count(policy, "sha256-")-3+tag.n {
			t.Errorf("%d %s in the page, policy %s", n, tag.open, policy)
		}
	}
	for _, bad := range []string{` style="`, ` onclick=`, ` onerror="`, `javascript:`} {
		if body := regexp.MustCompile(`(?s)<script>.*?</script>|<script type="application/json".*?</script>`).ReplaceAllString(page, ""); strings.Contains(body, bad) {
			t.Errorf("the page holds %s", bad)
		}
	}
}

func TestLinksCarryNoScript(t *testing.T) {
	set, err := layout.Templates(fstest.MapFS{"x.html": {Data: []byte(`{{define "x"}}{{template "table" .}}{{end}}`)}}, "*.html")
	if err != nil {
		t.Fatal(err)
	}
	body, err := layout.Render(set, "x", layout.Table{Columns: []layout.Column{{Head: "name"}}, Rows: [][]layout.Cell{{layout.Anchor("click", "javascript:alert(1)")}}})
	if err != nil {
		t.Fatal(err)
	}
	page := render(t, layout.Page{Title: "t", Body: body, Nav: []layout.Link{{Text: "x", Href: "data:text/html,x"}}}, layout.Folder)
	for _, bad := range []string{"javascript:", "data:text"} {
		if strings.Contains(page, bad) {
			t.Errorf("a link kept %s", bad)
		}
	}
}

func TestFuncs(t *testing.T) {
	v, n := 0.2295, 14
	var none *float64
	for _, tc := range []struct {
		text string
		data any
		want string
	}{
		{`{{share .}}`, v, "23%"}, {`{{share .}}`, &v, "23%"}, {`{{share .}}`, none, "–"}, {`{{share .}}`, nil, "–"},
		{`{{share .}}`, schemas.Known(v), "23%"}, {`{{share .}}`, schemas.Float{}, "–"},
		{`{{minutes .}}`, &n, "14 min"}, {`{{money . "EUR"}}`, v, "€0.23"}, {`{{money . "EUR"}}`, none, "–"},
		{`{{shareRange . 0.5}}`, v, "23% to 50%"}, {`{{shareRange . 0.5}}`, none, "–"},
		{`{{plural . "visit"}}`, 1, "1 visit"}, {`{{plural . "visit"}}`, 1400, "1,400 visits"},
		{`{{shareOfN . 61}}`, 14, "23% (14 of 61)"}, {`{{clean .}}`, "a\x00b\u202ec\nd", "abc d"},
		{`{{template "grade" .}}`, "firm", `<span class="grade grade-firm">firm</span>`},
		{`{{template "grade" .}}`, `x" onclick="y`, `<span class="grade grade-none">x&#34; onclick=&#34;y</span>`},
	} {
		set, err := layout.Templates(fstest.MapFS{"x.html": {Data: []byte(`{{define "x"}}` + tc.text + `{{end}}`)}}, "*.html")
		if err != nil {
			t.Fatal(err)
		}
		got, err := layout.Render(set, "x", tc.data)
		if err != nil || string(got) != tc.want {
			t.Errorf("%s of %v is %q (%v), want %q", tc.text, tc.data, got, err, tc.want)
		}
	}
	set, _ := layout.Templates(fstest.MapFS{"x.html": {Data: []byte(`{{define "x"}}{{share .}}{{end}}`)}}, "*.html")
	if _, err := layout.Render(set, "x", "0.2"); err == nil || !strings.Contains(err.Error(), "string is not a figure") {
		t.Errorf("a string was taken for a figure: %v", err)
	}
}
