package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"faultgrain/schemas"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
)

// A streams carries where results (out) and talk (err) go.
type streams struct{ out, err io.Writer }

// An action does a verb's work once its flags are parsed.
type action func(ctx context.Context, s streams, args []string) error

// A verb is one command. setup declares its flags and returns what runs after parsing.
type verb struct {
	name     string
	args     string // the positional arguments, as shown in usage
	about    string // one line
	examples []string
	setup    func(*pflag.FlagSet) action
}

func verbs() []verb {
	return []verb{
		runVerb(), ingestVerb(), analyseVerb(), reportVerb(), columnsVerb(),
		sheetVerb(), exportVerb(), hunchVerb(), shareVerb(), poolVerb(), verifyVerb(), explainVerb(), demoVerb(),
	}
}

// usageError is a wrong call: exit 2.
type usageError struct{ err error }

func (u usageError) Error() string { return u.err.Error() }
func (u usageError) Unwrap() error { return u.err }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errQuiet fails the command after it has said everything itself.
var errQuiet = errors.New("failed")

// run is the whole program; tests call it in process.
func run(ctx context.Context, args []string, out, errw io.Writer) int {
	s := streams{out, errw}
	if len(args) == 0 {
		overview(errw)
		return exitUsage
	}
	switch args[0] {
	case "help", "--help", "-h":
		if len(args) > 1 {
			args = []string{args[1], "--help"}
			break
		}
		overview(out)
		return exitDone
	}
	var names []string
	for _, v := range verbs() {
		if v.name == args[0] {
			return v.call(ctx, s, args[1:])
		}
		names = append(names, v.name)
	}
	fmt.Fprintf(errw, "faultgrain: no command %q", args[0])
	if near := schemas.Nearest(args[0], names); near != "" {
		fmt.Fprintf(errw, "; did you mean %q?", near)
	}
	fmt.Fprintln(errw, "\nfaultgrain: \"faultgrain help\" lists the commands")
	return exitUsage
}

func (v verb) call(ctx context.Context, s streams, args []string) int {
	flags := pflag.NewFlagSet(v.name, pflag.ContinueOnError)
	flags.SortFlags = false
	flags.SetOutput(io.Discard)
	act := v.setup(flags)
	err := flags.Parse(args)
	if errors.Is(err, pflag.ErrHelp) {
		v.help(s.out, flags)
		return exitDone
	}
	if err != nil {
		err = usageError{err}
	} else {
		err = act(ctx, s, flags.Args())
	}
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errQuiet):
		return exitFailed
	case errors.As(err, &usage):
		fmt.Fprintf(s.err, "faultgrain %s: %v\nusage: faultgrain %s %s (more: faultgrain help %s)\n", v.name, err, v.name, v.args, v.name)
		return exitUsage
	case ctx.Err() != nil:
		fmt.Fprintf(s.err, "faultgrain %s: stopped; the history is as it was\n", v.name)
		return exitFailed
	default:
		for line := range strings.SplitSeq(err.Error(), "\n") {
			fmt.Fprintf(s.err, "faultgrain %s: %s\n", v.name, line)
		}
		return exitFailed
	}
}

func (v verb) help(w io.Writer, flags *pflag.FlagSet) {
	fmt.Fprintf(w, "%s\n\nusage: faultgrain %s %s\n", v.about, v.name, v.args)
	if flags.HasFlags() {
		fmt.Fprintf(w, "\n%s", flags.FlagUsagesWrapped(100))
	}
	if len(v.examples) > 0 {
		fmt.Fprintln(w, "\nexamples:")
		for _, e := range v.examples {
			fmt.Fprintf(w, "  %s\n", e)
		}
	}
}

func overview(w io.Writer) {
	fmt.Fprint(w, "faultgrain turns a repair shop's own log into evidence.\n\nusage: faultgrain COMMAND ...\n\n")
	for _, v := range verbs() {
		fmt.Fprintf(w, "  %-9s %s\n", v.name, v.about)
	}
	fmt.Fprint(w, "\nStart with: faultgrain run LOG, or faultgrain demo. More on one: faultgrain help COMMAND.\n")
}

// none refuses positional arguments.
func none(args []string) error {
	if len(args) > 0 {
		return usagef("unexpected %q", args[0])
	}
	return nil
}

// one wants exactly one positional argument.
func one(args []string, what string) (string, error) {
	switch {
	case len(args) == 0:
		return "", usagef("missing %s", what)
	case len(args) > 1:
		return "", usagef("unexpected %q after %s", args[1], what)
	}
	return args[0], nil
}
