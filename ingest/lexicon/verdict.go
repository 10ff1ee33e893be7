package lexicon

// A verdict is why a mention counts or does not.
type verdict uint8

const (
	named     verdict = iota // named, nothing said against it
	withFault                // named with a fault
	withWork                 // named with work on it
	ofItself                 // the phrase says the fault itself
	// from here on it does not count
	saidFine  // said to work
	denied    // "not the battery"
	inPast    // replaced last year
	onlyCheck // tested, no result told
	came      // came with the device
	aPlace    // under the screen
	aTime     // since the update
	unsure    // a weak word beside a surer one
	explained // a symptom another component explains
	unneeded  // a hint, and something was read
	cleared   // a sign of a component that is said to be in order
	passing   // named in passing in a long report
	ofPart    // a fall told of the part named before it
	front     // the front of a compound: the end says what the thing is
)

func (v verdict) counts() bool { return v < saidFine }

func (v verdict) note(role role, kind Kind) string {
	if kind == Part && v == named {
		return "named in the part cell"
	}
	switch v {
	case named:
		switch role {
		case roleSymptom, roleHint:
			return "a sign that points to it; nothing read explains it better"
		case roleWeak:
			return "a loose word; its clause names nothing surer"
		case roleBoth:
			return "both are named"
		}
		return "named, nothing said against it"
	case withFault:
		return "named with a fault"
	case withWork:
		return "named with work on it"
	case ofItself:
		return "the words tell the fault"
	case saidFine:
		return "said to be in order"
	case denied:
		return "said not to be it"
	case inPast:
		return "earlier work, not this visit"
	case onlyCheck:
		return "only tested"
	case came:
		return "what came with the device, or did not come"
	case aPlace:
		return "only the place where something is"
	case aTime:
		return "only since when something is"
	case unsure:
		return "a loose word beside a surer one"
	case explained:
		return "a sign that another component explains"
	case unneeded:
		return "a vague sign, and something surer was read"
	case passing:
		return "named in passing; others are named with a fault or work"
	case ofPart:
		return "told of the part named just before, not of the device"
	case front:
		return "the front of a compound; its end says what the thing is"
	case cleared:
		return "a sign of a component that is said to be in order"
	}
	return ""
}
