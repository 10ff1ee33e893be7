package schemas

// OrderLine is a row of tables/order.csv, and of tables/orders/SUPPLIER.csv for each supplier: what to order now.
type OrderLine struct {
	Supplier  string `csv:"supplier" doc:"supplier, as in the shop's stock file"`
	Part      string `csv:"part" doc:"part"`
	Component string `csv:"component" doc:"component"`
	Fits      string `csv:"fits" doc:"models, separated by ;"`
	Order     int    `csv:"order" doc:"pieces to order"`
	UnitCost  Float  `csv:"unit_cost" doc:"cost of one piece"`
	LineCost  Float  `csv:"line_cost" doc:"order x unit_cost"`
	Currency  string `csv:"currency" doc:"ISO 4217"`
	WithPart  string `csv:"with_part" doc:"parts that fail together with this one, separated by ;"`
}
