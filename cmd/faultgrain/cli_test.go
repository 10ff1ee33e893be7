package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

// call runs the program in process, in a folder of its own.
func call(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, &o, &e)
	return code, o.String(), e.String()
}

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

const smallLog = `ticket,opened,ready,outcome,class,maker,model,found,minutes
J1,2026-05-01,2026-05-02,repaired,phone,Lark,Lark 7,battery,30
J2,2026-05-03,2026-05-04,repaired,phone,Lark,Lark 7,display,45
J3,2026-05-05,,open,phone,Corvo,Corvo 2,display,
J3,2026-05-05,,open,phone,Corvo,Corvo 2,display,
J4,31/02/2026,,open,phone,Corvo,Corvo 2,display,
`

func TestIngestJSONHasTheFixedKeys(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "may.csv", smallLog)
	code, out, errs := call(t, "ingest", "may.csv", "--json")
	if code != exitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var got struct {
		Files []struct {
			Name                                   string
			Read, Accepted, Quarantined, Duplicate int
		}
		Visits, Faults, Parts, Quarantined int
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatalf("stdout is no JSON: %v\n%s", err, out)
	}
	f := got.Files[0]
	if f.Name != "may.csv" || f.Read != 5 || f.Accepted != 3 || f.Duplicate != 1 || f.Quarantined != 1 {
		t.Errorf("file account: %+v", f)
	}
	if got.Visits != 3 || got.Faults != 3 || got.Parts != 0 || got.Quarantined != 1 {
		t.Errorf("totals: %+v", got)
	}
}

func TestRunWritesTheReportAndRepeatsByteForByte(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "may.csv", smallLog)
	if code, _, errs := call(t, "run", "may.csv", "--quiet"); code != exitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	first := contents(t, "brief")
	for _, name := range []string{"index.html", "findings.json", filepath.Join("tables", "shares.csv")} {
		if len(first[name]) == 0 {
			t.Errorf("no %s", name)
		}
	}
	code, out, errs := call(t, "run", "may.csv", "--quiet")
	if code != exitDone || errs != "" {
		t.Fatalf("again: exit %d, stderr %q", code, errs)
	}
	if !strings.Contains(out, "report: "+filepath.Join("brief", "index.html")) {
		t.Errorf("stdout doesn't say where the report is:\n%s", out)
	}
	second := contents(t, "brief")
	for name, b := range first {
		if !bytes.Equal(b, second[name]) {
			t.Errorf("%s differs between two runs on the same log", name)
		}
	}
	if len(first) != len(second) {
		t.Errorf("%d files, then %d", len(first), len(second))
	}
}

func TestStrictFailsOnQuarantine(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "may.csv", smallLog)
	code, out, errs := call(t, "ingest", "may.csv", "--strict", "--quiet")
	if code != exitFailed || !strings.Contains(errs, "1 rows were quarantined") || !strings.Contains(out, "may.csv") {
		t.Errorf("exit %d, stdout %q, stderr %q", code, out, errs)
	}
}

// Bad input: one clear line that names the file and what to do, exit 1, and no history made.
func TestBadInputLeavesNoHistory(t *testing.T) {
	for name, tc := range map[string]struct{ file, text, want string }{
		"missing":     {"gone.csv", "", "gone.csv"},
		"folder":      {".", "", "folder"},
		"empty":       {"empty.csv", "", "empty.csv"},
		"header only": {"header.csv", "ticket,opened,model\n", "header.csv"},
		"no log":      {"poem.csv", "colour,taste\nred,sweet\n", "faultgrain columns poem.csv"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			if name != "missing" && name != "folder" {
				write(t, tc.file, tc.text)
			}
			code, out, errs := call(t, "run", tc.file, "--quiet")
			if code != exitFailed || out != "" {
				t.Errorf("exit %d, stdout %q", code, out)
			}
			if strings.Count(errs, "\n") != 1 || !strings.HasPrefix(errs, "faultgrain run: ") || !strings.Contains(errs, tc.want) {
				t.Errorf("stderr %q, want one line with %q", errs, tc.want)
			}
			for _, made := range []string{"history", "brief"} {
				if _, err := os.Stat(made); err == nil {
					t.Errorf("%s was made", made)
				}
			}
		})
	}
}

func TestNoHistoryIsASentenceFromEveryReader(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, args := range [][]string{{"analyse"}, {"verify"}, {"export"}} {
		code, _, errs := call(t, append(args, "--quiet")...)
		if code != exitFailed || !strings.Contains(errs, "history") {
			t.Errorf("%v: exit %d, stderr %q", args, code, errs)
		}
	}
	if code, _, errs := call(t, "report"); code != exitFailed || !strings.Contains(errs, "faultgrain analyse") {
		t.Errorf("report: exit %d, stderr %q", code, errs)
	}
}

func TestWrongCallsExitWithTwo(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, args := range [][]string{
		{}, {"anlyse"}, {"ingest"}, {"run"}, {"analyse", "extra"}, {"analyse", "--as-of", "May"}, {"ingest", "a.csv", "--dates", "us"},
		{"export", "--format", "xls"}, {"columns"}, {"columns", "a.csv", "b.csv"}, {"explain"}, {"explain", "--as", "poem", "x"}, {"run", "--frobnicate"},
	} {
		code, out, errs := call(t, args...)
		if code != exitUsage || out != "" || errs == "" {
			t.Errorf("%q: exit %d, stdout %q, stderr %q", args, code, out, errs)
		}
	}
	if _, _, errs := call(t, "anlyse"); !strings.Contains(errs, `did you mean "analyse"?`) {
		t.Errorf("stderr %q", errs)
	}
}

// Help is made from the flags, so each example must parse.
func TestExamplesParse(t *testing.T) {
	quoted := regexp.MustCompile(`"[^"]*"|\S+`)
	for _, v := range verbs() {
		if code, out, _ := call(t, "help", v.name); code != exitDone || !strings.Contains(out, v.about) {
			t.Errorf("help %s: exit %d, %q", v.name, code, out)
		}
		if len(v.examples) == 0 {
			t.Errorf("%s has no example", v.name)
		}
		for _, e := range v.examples {
			e, _, _ = strings.Cut(e, " > ")
			words := quoted.FindAllString(e, -1)
			if len(words) < 2 || words[0] != "faultgrain" || words[1] != v.name {
				t.Errorf("%s: example %q", v.name, e)
				continue
			}
			f := pflag.NewFlagSet(v.name, pflag.ContinueOnError)
			v.setup(f)
			if err := f.Parse(words[2:]); err != nil {
				t.Errorf("%s: example %q: %v", v.name, e, err)
			}
		}
	}
}
