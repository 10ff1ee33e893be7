package schemas

import "github.com/apache/arrow-go/v18/arrow"

// Privacy says how far a field may travel.
type Privacy string

const (
	// Public fields may leave the shop in a bundle of tallies.
	Public Privacy = "public"
	// Shop fields stay in the shop: tickets, money, suppliers' lots.
	Shop Privacy = "shop"
	// Key fields are keyed hashes (HMAC-SHA-256 with history/key): the same thing, never its name.
	Key Privacy = "key"
	// Masked fields hold source text with everything personal replaced.
	Masked Privacy = "masked"
)

// Metadata keys of every Arrow field.
const (
	MetaUnit    = "unit"
	MetaMeaning = "meaning"
	MetaPrivacy = "privacy"
)

func field(name string, t arrow.DataType, nullable bool, unit, meaning string, p Privacy) arrow.Field {
	return arrow.Field{Name: name, Type: t, Nullable: nullable, Metadata: arrow.MetadataFrom(map[string]string{
		MetaUnit: unit, MetaMeaning: meaning, MetaPrivacy: string(p),
	})}
}

var (
	text    = arrow.BinaryTypes.String
	instant = arrow.FixedWidthTypes.Timestamp_us
)

// visitField is the number that ties visits, faults and parts of one history together.
func visitField() arrow.Field {
	return field("visit", arrow.PrimitiveTypes.Int64, false, "number",
		"the visit's number in this history: segment number x 2^32 + row in the segment, from 0", Shop)
}

// Visits has one row per ticket version. A later segment's row of the same shop and ticket replaces it.
func Visits() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		visitField(),
		field("ticket", text, false, "text", "the shop's number for one job on one device", Shop),
		field("shop", text, false, "text", "the shop or branch; empty when the log has one shop", Shop),
		field("opened", instant, false, "UTC timestamp", "when the device came in", Shop),
		field("ready", instant, true, "UTC timestamp", "when the job was done", Shop),
		field("collected", instant, true, "UTC timestamp", "when the device went back", Shop),
		field("outcome", text, true, "word", "repaired, no-fault, uneconomic, declined, returned-unrepaired or open; null when not told", Public),
		field("maker", text, true, "name", "who made the device", Public),
		field("family", text, true, "name", "the model line", Public),
		field("model", text, false, "name", "maker and model, one spelling; the family, maker or class when the log tells no more", Public),
		field("class", text, true, "word", "phone, tablet, laptop, watch, console, audio or the log's own word", Public),
		field("device_key", arrow.BinaryTypes.Binary, true, "16 bytes", "keyed hash of the serial number or IMEI", Key),
		field("made_week", text, true, "ISO week, 2026-W07", "the device's week of manufacture", Public),
		field("serial_prefix", text, true, "text", "the maker-defined first characters of the serial", Shop),
		field("bench_minutes", arrow.PrimitiveTypes.Float64, true, "minutes", "hands-on repair time", Public),
		field("charge", arrow.PrimitiveTypes.Float64, true, "money in currency", "what the customer paid", Shop),
		field("currency", text, true, "ISO 4217", "currency of charge", Public),
		field("technician_key", arrow.BinaryTypes.Binary, true, "16 bytes", "keyed hash of the technician's name", Key),
		field("unread", arrow.FixedWidthTypes.Boolean, false, "true/false", "fault text was given and no component could be read from it", Public),
		field("noted", arrow.PrimitiveTypes.Int64, true, "hash", "what ingest noticed about the ticket: rows of quality with the same number; null for nothing", Shop),
		field("faults", arrow.PrimitiveTypes.Int64, false, "rows", "how many rows the visit has in faults", Public),
		field("components", arrow.PrimitiveTypes.Int64, false, "rows", "how many of them are components and no causes (liquid, drop)", Public),
		field("component", text, true, "lexicon id", "the first of these components by name", Public),
		field("component_b", text, true, "lexicon id", "the last of them; null when there is one at most", Public),
		field("by_text", arrow.FixedWidthTypes.Boolean, false, "true/false", "what is in faults was read from free text alone", Public),
		field("parts_cost", arrow.PrimitiveTypes.Float64, true, "money in currency", "what its part lines cost together; null without any, or when one has no cost or another currency", Shop),
	}, nil)
}

// Faults has one row per visit and component.
func Faults() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		visitField(),
		field("ticket", text, false, "text", "as in visits", Shop),
		field("shop", text, false, "text", "as in visits", Shop),
		field("component", text, false, "lexicon id", "the component found bad, or a cause (liquid, drop)", Public),
		field("basis", text, false, "word", "part, found or text: what it was read from", Public),
	}, nil)
}

// Parts has one row per part line.
func Parts() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		visitField(),
		field("ticket", text, false, "text", "as in visits", Shop),
		field("shop", text, false, "text", "as in visits", Shop),
		field("component", text, true, "lexicon id", "what the part is; null when no entry reads it", Public),
		field("part_no", text, true, "text", "the supplier's or shop's part number", Shop),
		field("supplier", text, true, "name", "who sold the part", Shop),
		field("lot", text, true, "text", "the supplier's batch", Shop),
		field("grade", text, true, "word", "original, pulled, refurbished, aftermarket or unknown", Public),
		field("quantity", arrow.PrimitiveTypes.Float64, true, "pieces", "how many were fitted; null when not told (read as 1)", Shop),
		field("unit_cost", arrow.PrimitiveTypes.Float64, true, "money in currency", "what one piece cost the shop", Shop),
		field("currency", text, true, "ISO 4217", "currency of unit_cost", Public),
		field("model", text, false, "name", "as in visits", Public),
		field("opened", instant, false, "UTC timestamp", "as in visits", Shop),
		field("mended", instant, true, "UTC timestamp", "when the device was mended: ready, else collected, else opened; null when the visit was no repair", Shop),
		field("has_device", arrow.FixedWidthTypes.Boolean, false, "true/false", "the visit has a device_key", Public),
		field("initial", arrow.FixedWidthTypes.Boolean, false, "true/false", "no line of the visit before it names a component, and it does", Public),
		field("last", arrow.FixedWidthTypes.Boolean, false, "true/false", "no line of the visit after it is of the same component", Public),
		field("single", arrow.FixedWidthTypes.Boolean, false, "true/false", "no other line of the visit is of the same component", Public),
	}, nil)
}

// Quarantine has one row per source row that was not accepted.
func Quarantine() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		field("source", text, false, "SHA-256, hex", "content hash of the file the row stood in", Shop),
		field("file", text, false, "name", "base name of the file", Shop),
		field("line", arrow.PrimitiveTypes.Int64, false, "line, from 1", "where the record starts", Shop),
		field("column", text, true, "name", "header of the column at fault; null when the whole row is", Shop),
		field("reason", text, false, "word", "one of the fixed reasons: missing, bad-date, ...", Shop),
		field("found", text, true, "text, masked", "the value found, personal data masked", Masked),
		field("want", text, false, "sentence", "what would have been accepted", Shop),
		field("raw", text, false, "text, masked", "the row as it stood, personal columns masked", Masked),
		field("ticket_hash", arrow.PrimitiveTypes.Uint64, true, "hash", "keyed hash of shop and ticket, so that a corrected row clears this one; null when the row had no ticket", Key),
	}, nil)
}

// Quality says what ingest noticed: folded spellings, emptied cells, structured values no lexicon entry reads, contradicting
// rows. A row with a number in noted tells what is the matter with every visit that bears the number, so that notes go with
// the version of a ticket they are about; the same row may stand in several segments. A row without one is about a log: of
// one topic and subject those of the latest ingest count.
func Quality() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		field("topic", text, false, "word", "folded, emptied, unread-value, contradiction, encoding, dates", Shop),
		field("subject", text, false, "text", "what it is about", Shop),
		field("count", arrow.PrimitiveTypes.Int64, false, "times", "how often: in the log, or on each visit", Shop),
		field("note", text, false, "sentence", "what was done about it", Shop),
		field("ingest", arrow.PrimitiveTypes.Int64, false, "number, from 1", "the ingest that noticed it", Shop),
		field("noted", arrow.PrimitiveTypes.Int64, true, "hash", "as in visits; null when it is about a log", Shop),
		field("place", arrow.PrimitiveTypes.Int64, false, "number, from 0", "tells the rows of one noted apart", Shop),
	}, nil)
}

// Outcomes, in the order they are shown.
const (
	Repaired           = "repaired"
	NoFault            = "no-fault"
	Uneconomic         = "uneconomic"
	Declined           = "declined"
	ReturnedUnrepaired = "returned-unrepaired"
	Open               = "open"
)

// Bases of a fault.
const (
	BasisPart  = "part"
	BasisFound = "found"
	BasisText  = "text"
)

// Grades of a part.
const (
	GradeOriginal    = "original"
	GradePulled      = "pulled"
	GradeRefurbished = "refurbished"
	GradeAftermarket = "aftermarket"
	GradeUnknown     = "unknown"
)
