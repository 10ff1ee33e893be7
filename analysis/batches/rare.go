package batches

// manyModels is how many models a grid tells apart at most as they are; no shop has so many, but a log whose models are
// serial numbers does.
const manyModels = 20_000

// together puts models that were in too seldom for an alarm of their own with others of their family, or of their maker or
// class where these were in too seldom, too: they count with what stands above them, without their names. It gives the
// leaves of the device tree and the leaf of each model.
func together(models []Model, visits map[string]int) ([]Model, map[string]int) {
	type within struct{ maker, class string }
	family, maker := map[Model]int{}, map[within]int{}
	for _, m := range models {
		n := visits[m.Name]
		family[Model{Family: m.Family, Maker: m.Maker, Class: m.Class}] += n
		maker[within{m.Maker, m.Class}] += n
	}
	var leaves []Model
	place, at := map[Model]int{}, make(map[string]int, len(models))
	for _, m := range models {
		leaf := m
		if visits[m.Name] < minCases {
			leaf.Name = ""
		}
		if family[Model{Family: m.Family, Maker: m.Maker, Class: m.Class}] < minCases {
			leaf.Family = ""
		}
		if maker[within{m.Maker, m.Class}] < minCases {
			leaf.Maker = ""
		}
		i, ok := place[leaf]
		if !ok {
			i = len(leaves)
			place[leaf], leaves = i, append(leaves, leaf)
		}
		at[m.Name] = i
	}
	return leaves, at
}
