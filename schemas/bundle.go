package schemas

import "github.com/apache/arrow-go/v18/arrow"

// BundleVersion is the version of the tables of a bundle. A reader refuses another one.
const BundleVersion = 1

// spanFields are the months a tally of a bundle covers, both included.
func spanFields() []arrow.Field {
	return []arrow.Field{
		field("from", text, false, "month, 2026-05", "first month of the span", Public),
		field("to", text, false, "month, 2026-05", "last month of the span", Public),
	}
}

func tallyField(name string, nullable bool, unit, meaning string) arrow.Field {
	return field(name, arrow.PrimitiveTypes.Int64, nullable, unit, meaning, Public)
}

// BundleVisits has one row per model and span of months that holds enough diagnosed visits. Spans of a model do not overlap.
func BundleVisits() *arrow.Schema {
	return arrow.NewSchema(append([]arrow.Field{
		field("model", text, false, "name", "maker and model, as in visits", Public),
		field("class", text, false, "word", "as in visits; empty when unknown", Public),
		field("maker", text, false, "name", "as in visits; empty when unknown", Public),
		field("family", text, false, "name", "as in visits; empty when unknown", Public),
	}, append(spanFields(), tallyField("visits", false, "visits", "diagnosed visits opened in the span"))...), nil)
}

// BundleFaults has one row per model, component and span; a span is one or more spans of BundleVisits. What is not
// covered by a row of its component was fewer faults than the bundle's threshold.
func BundleFaults() *arrow.Schema {
	return arrow.NewSchema(append([]arrow.Field{
		field("model", text, false, "name", "as in visits", Public),
		field("component", text, false, "lexicon id", "the component found bad, or a cause", Public),
		field("cause", arrow.FixedWidthTypes.Boolean, false, "true/false", "it is a cause (liquid, drop), no component", Public),
	}, append(spanFields(), tallyField("visits", false, "visits", "diagnosed visits opened in the span"),
		tallyField("faults", true, "visits", "of them, visits that show the component; null when withheld and not few"))...), nil)
}

// BundlePairs has one row per model, pair of components and span: the four cells of their table.
func BundlePairs() *arrow.Schema {
	return arrow.NewSchema(append([]arrow.Field{
		field("model", text, false, "name", "as in visits", Public),
		field("component_a", text, false, "lexicon id", "first component in alphabetical order", Public),
		field("component_b", text, false, "lexicon id", "second component", Public),
	}, append(spanFields(), tallyField("both", false, "visits", "visits that show both"), tallyField("a_only", false, "visits", "visits that show only the first"),
		tallyField("b_only", false, "visits", "visits that show only the second"), tallyField("neither", false, "visits", "visits that show neither"))...), nil)
}

// BundleParts has one row per component, grade, cost band and span.
func BundleParts() *arrow.Schema {
	return arrow.NewSchema(append([]arrow.Field{
		field("component", text, false, "lexicon id", "what the part is", Public),
		field("grade", text, false, "word", "as in parts; empty when not told", Public),
		field("cost_from", arrow.PrimitiveTypes.Float64, true, "money in currency", "lower end of the band of the unit cost; null when not told", Public),
		field("cost_below", arrow.PrimitiveTypes.Float64, true, "money in currency", "upper end of the band, not in it; null when open or not told", Public),
		field("currency", text, false, "ISO 4217", "currency of the band; empty when not told", Public),
	}, append(spanFields(), tallyField("lines", false, "part lines", "part lines of visits opened in the span"))...), nil)
}
