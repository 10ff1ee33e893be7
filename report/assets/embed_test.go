package assets

import (
	"encoding/json"
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"
)

func TestBundle(t *testing.T) {
	text, err := EchartsJS()
	if errors.Is(err, ErrNotBuilt) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	here, err := os.Getwd() // the bundle must not tell where it was built
	if err != nil {
		t.Fatal(err)
	}
	low := strings.ToLower(text)
	for _, bad := range []string{"</script", "<!--", "\r", strings.ToLower(here), "eval(", "new function(", "document.write"} {
		if strings.Contains(low, bad) {
			t.Errorf("the bundle holds %q", bad)
		}
	}
	if !strings.HasPrefix(text, "/*") || !strings.Contains(text[:1000], "Apache Software Foundation") {
		t.Error("the bundle does not open with its licence notice")
	}
	licences, err := Licences()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Apache License", "Baidu", "Bostock"} {
		if !strings.Contains(licences, want) {
			t.Errorf("the licences do not hold %q", want)
		}
	}
}

// TestOwnTexts keeps our script and style fit to stand inside a page under its policy.
func TestOwnTexts(t *testing.T) {
	for name, text := range map[string]string{"report.js": JS(), "report.css": CSS()} {
		for _, bad := range []string{"</script", "</style", "<!--", "\r", "http:", "https:", "@import", "url("} {
			if strings.Contains(strings.ToLower(text), bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
	}
	for _, bad := range []string{"innerHTML", "outerHTML", "insertAdjacentHTML", "eval", "new Function", "fetch(", "XMLHttpRequest", "localStorage"} {
		if strings.Contains(JS(), bad) {
			t.Errorf("report.js uses %s", bad)
		}
	}
}

func TestPins(t *testing.T) {
	raw, err := os.ReadFile("package.json")
	if err != nil {
		t.Fatal(err)
	}
	var p struct{ Dependencies, DevDependencies map[string]string }
	if err := json.Unmarshal(raw, &p); err != nil {
		t.Fatal(err)
	}
	exact := regexp.MustCompile(`^\d+\.\d+\.\d+$`)
	for _, list := range []map[string]string{p.Dependencies, p.DevDependencies} {
		for name, version := range list {
			if !exact.MatchString(version) {
				t.Errorf("package.json: %s is %q: want one exact version", name, version)
			}
		}
	}
	lock, err := os.ReadFile("package-lock.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{`"resolved"`, "://registry"} {
		if strings.Contains(string(lock), bad) {
			t.Errorf("package-lock.json holds %s: it names where packages come from", bad)
		}
	}
}
