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
	out := *m
	out.terms = m.terms.clone()
	for _, c := range differences {
		like := c.To.strips() == m.strips() && c.From.strips() == m.strips()
		for _, o := range [...]struct {
			*Map
			times float64
		}{{c.To, c.Times}, {c.From, -c.Times}} {
			if !like {
				o.Map = o.withoutStrips()
			}
			if err := m.withoutStrips().combines(o.withoutStrips()); err != nil {
				return nil, err
			}
			out.terms.add(o.times, &o.terms)
		}
	}
	return &out, nil
}

// withoutStrips returns the map without the loads of its strips.
func (m *Map) withoutStrips() *Map {
	n := *m
	n.terms.strips = nil
	return &n
}
