package batches

import (
	"cmp"
	"slices"
)

// MaxWindow is the longest window looked at, in weeks; Baseline the weeks before it.
const (
	MaxWindow = 13
	Baseline  = 52
	minWeeks  = 2 * MaxWindow // a shorter history has no usual level to compare with
)

// A Grid holds weekly counts by model and component. Weeks are numbered from 0, the oldest; the last one ends
// on the day looked from.
type Grid struct {
	Weeks      int
	Models     []Model
	Components []string
	Visits     [][]int32   // [model][week] diagnosed visits
	Cases      [][][]int32 // [component][model][week] visits that show the component; nil where a model never does
}

// A Model is a leaf of the device tree. Empty names are unknown, or those of rare models put together, and make no node.
type Model struct {
	Name   string `sql:"model"`
	Family string `sql:"family"`
	Maker  string `sql:"maker"`
	Class  string `sql:"class"`
}

// Until is the grid as it stood after its first so many weeks, cut to baseline and windows. It shares the counts.
func (g *Grid) Until(weeks int) *Grid {
	from := max(0, weeks-Baseline-MaxWindow)
	out := &Grid{Weeks: weeks - from, Models: g.Models, Components: g.Components}
	for _, v := range g.Visits {
		out.Visits = append(out.Visits, v[from:weeks])
	}
	for _, models := range g.Cases {
		list := make([][]int32, len(models))
		for m, x := range models {
			if x != nil {
				list[m] = x[from:weeks]
			}
		}
		out.Cases = append(out.Cases, list)
	}
	return out
}

// named gives the names, in order, of the models that have one and of which ask holds.
func (g *Grid) named(models []int, ask func(m int) bool) []string {
	var list []string
	for _, m := range models {
		if name := g.Models[m].Name; name != "" && ask(m) {
			list = append(list, name)
		}
	}
	slices.Sort(list)
	return list
}

// A node is a group of models looked at together.
type node struct {
	level, name string
	models      []int
}

// Levels of the device tree, the narrowest first: of nodes with the same models only the narrowest is looked at.
const (
	levelModel  = "model"
	levelFamily = "family"
	levelMaker  = "maker"
	levelClass  = "class"
)

// nodes lists the device tree in a total order. A family is told apart by its maker, families and makers by
// their class: one phone maker's tablets are another group.
func (g *Grid) nodes() []node {
	type key struct{ level, name, within string }
	index := map[key]int{}
	var list []node
	add := func(k key, m int) {
		if k.name == "" {
			return
		}
		i, ok := index[k]
		if !ok {
			i = len(list)
			index[k] = i
			list = append(list, node{level: k.level, name: k.name})
		}
		list[i].models = append(list[i].models, m)
	}
	order := make([]int, len(g.Models))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(g.Models[a].Name, g.Models[b].Name) })
	for _, level := range []string{levelModel, levelFamily, levelMaker, levelClass} {
		for _, m := range order {
			d := g.Models[m]
			switch level {
			case levelModel:
				add(key{level, d.Name, ""}, m)
			case levelFamily:
				add(key{level, d.Family, d.Maker + "\x00" + d.Class}, m)
			case levelMaker:
				add(key{level, d.Maker, d.Class}, m)
			case levelClass:
				add(key{level, d.Class, ""}, m)
			}
		}
	}
	var kept []node
	seen := map[string]bool{}
	for _, n := range list {
		k := memberKey(n.models)
		if seen[k] {
			continue
		}
		seen[k] = true
		kept = append(kept, n)
	}
	return kept
}

func memberKey(models []int) string {
	sorted := slices.Sorted(slices.Values(models))
	b := make([]byte, 0, 4*len(sorted))
	for _, m := range sorted {
		b = append(b, byte(m>>24), byte(m>>16), byte(m>>8), byte(m))
	}
	return string(b)
}

// display is how a node is named in a sentence: a family with its maker, as models are.
func (n node) display(g *Grid) string {
	if n.level == levelFamily {
		if maker := g.Models[n.models[0]].Maker; maker != "" && maker != n.name {
			return maker + " " + n.name
		}
	}
	return n.name
}
