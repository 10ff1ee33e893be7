package layout

import (
	"html/template"
	"regexp"
	"strconv"
	"strings"
)

// plainHref is what a link in a table may be: a page, a file or a place of this report. Anything else, such as a
// scheme, is shown as words only.
var plainHref = regexp.MustCompile(`^[A-Za-z0-9_#.][A-Za-z0-9_\-./#%]*$`)

// tableHTML writes a table. A report holds some hundred thousand cells, so they are not made by a template: each
// text goes through escape and nothing else reaches the page.
func tableHTML(t Table) template.HTML {
	var b strings.Builder
	b.Grow(256 + 96*len(t.Rows)*len(t.Columns))
	b.WriteString(`<div class="scroll"`)
	if t.Caption != "" {
		b.WriteString(` role="region" tabindex="0"`)
		attribute(&b, "aria-label", t.Caption)
	}
	b.WriteString(">\n<table")
	attribute(&b, "class", classes(t))
	attribute(&b, "id", t.ID)
	b.WriteString(">\n")
	if t.Caption != "" {
		b.WriteString("<caption><span")
		if t.Titled {
			b.WriteString(` class="aside"`)
		}
		b.WriteByte('>')
		escape(&b, t.Caption)
		b.WriteString("</span>")
		if n := printed(t); n < len(t.Rows) {
			b.WriteString(`<span class="paper-only"> The first ` + strconv.Itoa(n) + " of " + rows(t) + "; the CSV file has all.</span>")
		}
		b.WriteString("</caption>\n")
	}
	b.WriteString("<thead><tr>")
	for _, c := range t.Columns {
		b.WriteString(`<th scope="col"`)
		if c.Num {
			b.WriteString(` class="num"`)
		}
		attribute(&b, "title", c.Title)
		b.WriteByte('>')
		escape(&b, c.Head)
		b.WriteString("</th>")
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, row := range t.Rows {
		b.WriteString("<tr>")
		for i, c := range row {
			element := "td"
			if i == 0 {
				element = "th"
				b.WriteString(`<th scope="row"`)
			} else {
				b.WriteString("<td")
				if t.Columns[i].Num {
					b.WriteString(` class="num"`)
				}
			}
			attribute(&b, "data-v", c.Sort)
			b.WriteByte('>')
			c.write(&b)
			b.WriteString("</" + element + ">")
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n</div>")
	return template.HTML(b.String()) // every text in it went through escape
}

func (c Cell) write(b *strings.Builder) {
	switch {
	case c.Grade != "":
		b.WriteString(`<span class="grade grade-` + gradeClass(c.Grade) + `">`)
		escape(b, c.Grade)
		b.WriteString("</span>")
	case c.Href != "" && plainHref.MatchString(c.Href):
		b.WriteString("<a")
		attribute(b, "href", c.Href)
		b.WriteByte('>')
		escape(b, c.Text)
		b.WriteString("</a>")
	default:
		escape(b, c.Text)
	}
	if c.Note != "" {
		b.WriteString("<small>")
		escape(b, c.Note)
		b.WriteString("</small>")
	}
}

// attribute writes an attribute, or nothing when its value is empty.
func attribute(b *strings.Builder, name, value string) {
	if value == "" {
		return
	}
	b.WriteString(" " + name + `="`)
	escape(b, value)
	b.WriteByte('"')
}

// markup are the characters that could end a text or an attribute's value.
var markup = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// escape writes text from a log so that it stays text.
func escape(b *strings.Builder, text string) {
	if text = clean(text); strings.ContainsAny(text, "&<>\"'") {
		markup.WriteString(b, text)
		return
	}
	b.WriteString(text)
}
