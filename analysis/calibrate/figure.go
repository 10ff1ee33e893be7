package main

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
)

// A Figure is a picture of a section, drawn as SVG by this tool alone.
type Figure struct {
	Name string // of its file, without .svg
	Alt  string // what it shows, in a sentence
	SVG  string
}

// look carries the colours: dark on light, or light on dark where the reader's screen is so. Lines are told apart by
// their dashes and names, too.
const look = `<style>
:root{--ink:#1f2328;--faint:#c9d1d9;--page:#ffffff;--a:#005282;--b:#b77e00;--c:#7b3300;--bad:#c0392b}
@media (prefers-color-scheme:dark){:root{--ink:#e6edf3;--faint:#444c56;--page:#0d1117;--a:#77bdeb;--b:#e5da3f;--c:#d55e00;--bad:#ff7b72}}
text{font:12px system-ui,sans-serif;fill:var(--ink)} .head{font-weight:600} .end{text-anchor:end} .mid{text-anchor:middle}
.grid{stroke:var(--faint);stroke-width:1} .mark{stroke:var(--bad);stroke-width:1.5;stroke-dasharray:5 4}
.line{fill:none;stroke-width:2} .a{stroke:var(--a)} .b{stroke:var(--b);stroke-dasharray:8 4} .c{stroke:var(--c);stroke-dasharray:2 3}
circle{fill:var(--page);stroke-width:2;stroke-dasharray:none!important} .dot{fill:var(--a);stroke:none}
</style>`

// A canvas collects the marks of a picture, in pixels.
type canvas struct {
	strings.Builder
	width, height float64
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(c, "<line class=%q x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n", class, x1, y1, x2, y2)
}

func (c *canvas) text(class string, x, y float64, text string) {
	fmt.Fprintf(c, "<text class=%q x=\"%.1f\" y=\"%.1f\">", class, x, y)
	_ = xml.EscapeText(c, []byte(text)) // a strings.Builder does not fail
	c.WriteString("</text>\n")
}

func (c *canvas) circle(class string, x, y, r float64) {
	fmt.Fprintf(c, "<circle class=%q cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"/>\n", class, x, y, r)
}

// figure closes the picture.
func (c *canvas) figure(name, alt string) Figure {
	var b strings.Builder
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" role=\"img\">\n<title>", c.width, c.height)
	_ = xml.EscapeText(&b, []byte(alt))
	fmt.Fprintf(&b, "</title>\n%s\n<rect width=\"100%%\" height=\"100%%\" style=\"fill:var(--page)\"/>\n%s</svg>\n", look, c.String())
	return Figure{name, alt, b.String()}
}

// A whisker is a share with its limits.
type whisker struct {
	name         string
	low, at, top float64
}

// whiskers draws shares below each other against a promised limit.
func whiskers(name, alt, axis string, list []whisker, limit float64) Figure {
	const left, right, row, head = 330, 20, 22, 16
	most := limit
	for _, w := range list {
		most = math.Max(most, w.top)
	}
	most = math.Ceil(most*50) / 50 // even percents
	c := canvas{width: 760, height: head + row*float64(len(list)) + 46}
	x := func(v float64) float64 { return left + v/most*(c.width-left-right) }
	foot := head + row*float64(len(list))
	for v := 0.0; v <= most+1e-9; v += 0.02 {
		c.line("grid", x(v), head, x(v), foot)
		c.text("mid", x(v), foot+16, fmt.Sprintf("%.0f%%", 100*v))
	}
	c.line("mark", x(limit), head-6, x(limit), foot)
	c.text("mid", x(most/2), foot+36, axis)
	for i, w := range list {
		y := head + row*(float64(i)+0.5)
		c.text("end", left-10, y+4, w.name)
		c.line("line a", x(w.low), y, x(w.top), y)
		c.circle("dot", x(w.at), y, 4)
	}
	return c.figure(name, alt)
}

// A panel is one small picture of shares, as lines over a few steps.
type panel struct {
	title string
	lines []curve // at most three
}

// A curve is a named line with a share per step.
type curve struct {
	name   string
	shares []float64
}

// panels draws panels beside each other, so many in a row, under a head that names both axes. Steps are evenly spaced.
func panels(name, alt, head string, steps []string, list []panel, inRow int) Figure {
	const wide, high, left, top, gap = 300, 210, 44, 44, 14
	rows := (len(list) + inRow - 1) / inRow
	c := canvas{width: wide*float64(inRow) + gap, height: high*float64(rows) + 58}
	c.text("", 6, 16, head)
	for i, p := range list {
		x0, y0 := wide*float64(i%inRow)+left, high*float64(i/inRow)+top
		w, h := float64(wide-left-gap), float64(high-top-24)
		x := func(k int) float64 { return x0 + w*(float64(k)+0.5)/float64(len(steps)) }
		y := func(v float64) float64 { return y0 + h*(1-v) }
		c.text("head", x0, y0-10, p.title)
		for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
			c.line("grid", x0, y(v), x0+w, y(v))
			c.text("end", x0-6, y(v)+4, fmt.Sprintf("%.0f%%", 100*v))
		}
		for k, s := range steps {
			c.text("mid", x(k), y0+h+16, s)
		}
		for n, l := range p.lines {
			class := []string{"a", "b", "c"}[n]
			c.WriteString("<polyline class=\"line " + class + "\" points=\"")
			for k, v := range l.shares {
				fmt.Fprintf(&c, "%.1f,%.1f ", x(k), y(v))
			}
			c.WriteString("\"/>\n")
			for k, v := range l.shares {
				c.circle(class, x(k), y(v), 2.5)
			}
		}
	}
	foot := c.height - 12
	for n, l := range list[0].lines {
		x := left + 150*float64(n)
		c.line("line "+[]string{"a", "b", "c"}[n], x, foot-4, x+34, foot-4)
		c.text("", x+42, foot, l.name)
	}
	return c.figure(name, alt)
}
