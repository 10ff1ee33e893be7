package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
)

// How often the counter writes what it writes.
const (
	textOnly   = 0.06  // a faulty visit with no finding and no part line: only the customer's words
	unreadable = 0.015 // of those words, what names nothing at all
	typo       = 0.04  // texts with one slip of the fingers
	tested     = 0.03  // findings that also say the battery is well
	callback   = 0.03  // texts that carry a name and a phone number
	noted      = 0.15
)

// tell puts the visit into the words of the counter. It draws from the prose stream alone.
func (c *counter) tell(t *Ticket) {
	r := c.prose
	home := c.shop.language
	bench := home // the finding; shop three's bench writes English
	if bench == "fr" {
		bench = "en"
	}
	guest := home
	switch at := r.Float64(); {
	case home == "en" && at < 0.12:
		guest = []string{"de", "fr", "es"}[r.IntN(3)]
	case home == "fr" && at < 0.5:
		guest = "en"
	}
	bare := len(t.Faults) > 0 && t.Device.Model.Class != "console" && r.Float64() < textOnly
	if t.Outcome == "open" && r.Float64() < 0.5 {
		bare = true
	}
	t.Unread = bare && len(t.Faults) > 0 && r.Float64() < unreadable/textOnly
	t.Fault = says(r, guest, t, t.Unread || bare && len(t.Faults) == 0)
	t.Found = finding(r, bench, t.Faults)
	for i := range t.Lines {
		t.Lines[i].Part = pick(r, words[bench][t.Lines[i].Component].part)
	}
	if r.Float64() < noted {
		t.Notes = pick(r, talks[bench].notes)
	}
	if bare {
		t.Found, t.Lines, t.Notes = "", nil, ""
	}
	if r.Float64() < callback {
		who := t.Device.Owner
		t.Fault += "; " + fmt.Sprintf(talks[guest].callback, who.Last, who.Phone)
	}
}

// says is the customer's complaint. It names the components, or nothing when vague; on a visit with no
// fault it suspects a part that is well.
func says(r *rand.Rand, language string, t *Ticket, vague bool) string {
	if vague {
		return pick(r, talks[language].vague)
	}
	if len(t.Faults) == 0 {
		if talks[language].flicker == "" {
			language = "en"
		}
		return fmt.Sprintf(talks[language].flicker, pick(r, words[language]["display"].part))
	}
	var said []string
	for _, f := range t.Faults {
		w, ok := words[language][f]
		if !ok {
			language = "en"
			w = words[language][f]
		}
		said = append(said, pick(r, w.says))
	}
	return slip(r, strings.Join(said, talks[language].and))
}

// finding is the technician's text.
func finding(r *rand.Rand, language string, faults []string) string {
	if len(faults) == 0 {
		return pick(r, talks[language].well)
	}
	var parts []string
	for _, f := range faults {
		parts = append(parts, pick(r, words[language][f].found))
	}
	text := strings.Join(parts, []string{", ", " + ", talks[language].and}[r.IntN(3)])
	if !slices.Contains(faults, "battery") && r.Float64() < tested {
		text += "; " + talks[language].okay
	}
	return text
}

// slip swaps or doubles a letter inside one long word, now and then.
func slip(r *rand.Rand, text string) string {
	if r.Float64() >= typo {
		return text
	}
	fields := strings.Fields(text)
	i := r.IntN(len(fields))
	word := []rune(fields[i])
	if len(word) < 7 {
		return text
	}
	at := 2 + r.IntN(len(word)-4)
	if r.IntN(2) == 0 {
		word[at], word[at+1] = word[at+1], word[at]
	} else {
		word = slices.Insert(word, at, word[at])
	}
	fields[i] = string(word)
	return strings.Join(fields, " ")
}
