package gecp

import "example.org/groundeffect/vlm"

// Thick reports whether a wing of the craft has a thickness.
func (c *Craft) Thick() bool {
	for i := range c.Wings {
		if c.Wings[i].Thickness != 0 {
			return true
		}
	}
	return false
}

// WithoutThickness returns the model of the same craft whose flow is that about thin wings.
// What else rests on the thickness, the wings' lowest points, the friction and the sections'
// limits, stays that of the craft. It returns an error if the mesh makes no lattice.
func (m *Model) WithoutThickness() (*Model, error) {
	l, err := vlm.New(m.craft.thinSurfaces(m.mesh), vlm.Options{})
	if err != nil {
		return nil, err
	}
	n := *m
	n.lattice = l
	return &n, nil
}

// thinSurfaces returns the surfaces of the craft's wings with all thickness taken out.
func (c *Craft) thinSurfaces(mesh Mesh) []vlm.Surface {
	surfaces := c.Surfaces(mesh)
	for i := range surfaces {
		for j := range surfaces[i].Stations {
			surfaces[i].Stations[j].Thickness = 0
		}
	}
	return surfaces
}
