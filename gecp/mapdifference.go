package gecp

// MapDifference is what the loads of one map have more than those of another, a number of
// times over. The two are best built with the same nodes: what each strays between them
// then cancels.
type MapDifference struct {
	From, To *Map
	Times    float64 // 1 is the whole change, -1 its opposite
}

// WithDifferences returns the map with its loads changed, each change taken at the same clearance and
// the same pitch. It answers what a craft does whose flow differs a
// little, without the lattice: without thickness, on a finer mesh, with the wakes on
// another way. Craft, correction and lowest points stay those of the map. The strips' loads
// follow those changes whose maps have the map's strips and stay as they are for the others,
// which are on another mesh. The maps have the map's range; otherwise the error
// wraps ErrUnlikeMaps. [Map.Error] of the result is that of the map.
func (m *Map) WithDifferences(differences ...MapDifference) (*Map, error) {
	weights, maps := []float64{1}, []*Map{m}
	likeWeights, like := []float64{1}, []*Map{m}
	for _, c := range differences {
		w, pair := []float64{c.Times, -c.Times}, []*Map{c.To, c.From}
		weights, maps = append(weights, w...), append(maps, pair...)
		if n := m.strips(); c.To.strips() == n && c.From.strips() == n {
			likeWeights, like = append(likeWeights, w...), append(like, pair...)
		}
	}
	if len(like) == len(maps) {
		return m.model.CombineMaps(weights, maps)
	}
	for i := range maps {
		maps[i] = maps[i].withoutStrips()
	}
	out, err := m.model.CombineMaps(weights, maps)
	if err != nil {
		return nil, err
	}
	strips, err := m.model.CombineMaps(likeWeights, like)
	if err != nil {
		return nil, err
	}
	only := mapTerms{rh: strips.terms.rh, rp: strips.terms.rp, strips: strips.terms.strips}
	out.terms.add(1, &only)
	return out, nil
}

// withoutStrips returns the map without the loads of its strips.
func (m *Map) withoutStrips() *Map {
	n := *m
	n.terms.strips = nil
	return &n
}
