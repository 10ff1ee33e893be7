package batches

// Attributes a link can have. Those of the part fitted before are told apart by the prefix.
const (
	earlier = "earlier_"

	Lot             = "lot"
	Supplier        = "supplier"
	Grade           = "grade"
	EarlierLot      = earlier + Lot
	EarlierSupplier = earlier + Supplier
	EarlierGrade    = earlier + Grade
	MadeWeek        = "made_week"
	SerialPrefix    = "serial_prefix"
)

// weekSpan joins the first and the last week of a run of made-weeks: 2026-W03..2026-W05.
const weekSpan = ".."
