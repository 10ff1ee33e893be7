package demo

import "time"

// Model is one entry of the made-up device tree.
type Model struct {
	Maker  string
	Family string
	Label  string // as on the box, without the maker: "Sedge 5 Plus"
	Class  string
	Weight float64   // share of the class's visits, up to a constant
	From   time.Time // first visits; zero: from the start
	Fading bool      // fewer and fewer visits: half as many every nine months
}

// Name is the model as the report shows it.
func (m *Model) Name() string { return m.Maker + " " + m.Label }

// models is the whole tree. Families belong to one maker and one class each. The Sedge family has
// exactly the three models of the bad lot; its maker has another phone family, so that family and
// maker are different nodes. The new and the fading model are tablets: among phones, whose charge
// ports rise, a model seen only early or only late would differ from its class for that reason alone.
func models() []*Model {
	return []*Model{
		{Maker: "Ostrel", Family: "Sedge", Label: "Sedge 5", Class: "phone", Weight: 12},
		{Maker: "Ostrel", Family: "Sedge", Label: "Sedge 5 Plus", Class: "phone", Weight: 10},
		{Maker: "Ostrel", Family: "Sedge", Label: "Sedge 6", Class: "phone", Weight: 13},
		{Maker: "Ostrel", Family: "Marl", Label: "Marl 2", Class: "phone", Weight: 4},
		{Maker: "Ostrel", Family: "Marl", Label: "Marl 3 Lite", Class: "phone", Weight: 4},
		{Maker: "Kelpin", Family: "Nib", Label: "Nib 2", Class: "phone", Weight: 4},
		{Maker: "Kelpin", Family: "Nib", Label: "Nib 3", Class: "phone", Weight: 6},
		{Maker: "Kelpin", Family: "Nib", Label: "Nib 3 Max", Class: "phone", Weight: 4},
		{Maker: "Kelpin", Family: "Nib", Label: "Nib 4", Class: "phone", Weight: 5},
		{Maker: "Varnby", Family: "Plover", Label: "Plover 7", Class: "phone", Weight: 5},
		{Maker: "Varnby", Family: "Plover", Label: "Plover 8", Class: "phone", Weight: 20},
		{Maker: "Varnby", Family: "Plover", Label: "Plover 8 Pro", Class: "phone", Weight: 4},
		{Maker: "Quorvel", Family: "Wicket", Label: "Wicket 10", Class: "phone", Weight: 5},
		{Maker: "Quorvel", Family: "Wicket", Label: "Wicket 11", Class: "phone", Weight: 10},
		{Maker: "Quorvel", Family: "Wicket", Label: "Wicket 12", Class: "phone", Weight: 5},
		{Maker: "Lumbry", Family: "Cobble", Label: "Cobble 3", Class: "phone", Weight: 4},
		{Maker: "Lumbry", Family: "Cobble", Label: "Cobble 4", Class: "phone", Weight: 3},

		{Maker: "Ostrel", Family: "Fathom", Label: "Fathom 9", Class: "tablet", Weight: 5},
		{Maker: "Ostrel", Family: "Fathom", Label: "Fathom 11", Class: "tablet", Weight: 4},
		{Maker: "Kelpin", Family: "Quire", Label: "Quire 8", Class: "tablet", Weight: 6, Fading: true},
		{Maker: "Kelpin", Family: "Quire", Label: "Quire 10 Mini", Class: "tablet", Weight: 3},
		{Maker: "Kelpin", Family: "Quire", Label: "Quire 12", Class: "tablet", Weight: 4, From: time.Date(2026, time.January, 15, 0, 0, 0, 0, time.UTC)},
		{Maker: "Tarsk", Family: "Plank", Label: "Plank 10", Class: "tablet", Weight: 3},

		{Maker: "Brindock", Family: "Larder", Label: "Larder 13", Class: "laptop", Weight: 5},
		{Maker: "Brindock", Family: "Larder", Label: "Larder 15", Class: "laptop", Weight: 6},
		{Maker: "Tarsk", Family: "Gusset", Label: "Gusset 14", Class: "laptop", Weight: 3.5},
		{Maker: "Tarsk", Family: "Gusset", Label: "Gusset 16", Class: "laptop", Weight: 4},
		{Maker: "Quorvel", Family: "Trestle", Label: "Trestle 15", Class: "laptop", Weight: 5},

		{Maker: "Noddick", Family: "Tock", Label: "Tock 2", Class: "watch", Weight: 5},
		{Maker: "Noddick", Family: "Tock", Label: "Tock 3", Class: "watch", Weight: 4},

		{Maker: "Yonderly", Family: "Bounder", Label: "Bounder 2", Class: "console", Weight: 5},
		{Maker: "Lumbry", Family: "Skep", Label: "Skep 1", Class: "console", Weight: 4},
	}
}

// classShares are the shares of the visits by class, consoles aside: they come as a stream of their
// own (truth 7).
var classShares = []weighted{
	{"phone", 0.64}, {"laptop", 0.18}, {"tablet", 0.12}, {"watch", 0.06},
}

type weighted struct {
	word   string
	weight float64
}
