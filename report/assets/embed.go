// Package assets holds what the pages load: our style sheet, our script and the
// chart library, embedded in the program. The library is built by `make assets`
// and is not in the repository; the module builds without it, and EchartsJS says
// what to do when it is missing.
package assets

import (
	"embed"
	"errors"
	"io/fs"
)

//go:embed report.css report.js all:built
var files embed.FS

// ErrNotBuilt is returned when the program was built before the chart library was.
var ErrNotBuilt = errors.New("the chart library is not built in: run make assets, then go build")

// CSS returns report.css.
func CSS() string { return own("report.css") }

// JS returns report.js, our own script.
func JS() string { return own("report.js") }

// EchartsJS returns the bundled chart library, or ErrNotBuilt.
func EchartsJS() (string, error) { return built("built/echarts.js") }

// Licences returns the licence texts of what is in the bundle, or ErrNotBuilt.
// They travel with every copy of the bundle.
func Licences() (string, error) { return built("built/echarts-licences.txt") }

func own(name string) string {
	text, err := files.ReadFile(name)
	if err != nil {
		panic(err) // the compiler put it there
	}
	return string(text)
}

func built(name string) (string, error) {
	text, err := files.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", ErrNotBuilt
	}
	return string(text), err
}
