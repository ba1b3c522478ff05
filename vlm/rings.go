package vlm

// rings turns what filaments induce into what rings induce: a ring is the
// filament along its front, less the one along its back, and those at its sides;
// the last one of a strip has no back and goes on to infinity.
func rings(grids []grid, filament, ring []vec) {
	across, along := filament[:len(filament)/2], filament[len(filament)/2:]
	for i := range grids {
		g := &grids[i]
		w := g.strips + 1
		for k := range g.rows {
			o, c := g.node+k*w, g.cell+k*g.strips
			row := ring[c : c+g.strips]
			front, left, right := across[o:o+len(row)], along[o:o+len(row)], along[o+1:o+1+len(row)]
			if k == g.rows-1 {
				in, out := along[o+w:o+w+len(row)], along[o+w+1:o+w+1+len(row)]
				for j := range row {
					v, a, l, r, m, s := &row[j], &front[j], &left[j], &right[j], &in[j], &out[j]
					v.x, v.y, v.z = a.x+r.x-l.x+s.x-m.x, a.y+r.y-l.y+s.y-m.y, a.z+r.z-l.z+s.z-m.z
				}
				break
			}
			back := across[o+w : o+w+len(row)]
			for j := range row {
				v, a, l, r, b := &row[j], &front[j], &left[j], &right[j], &back[j]
				v.x, v.y, v.z = a.x+r.x-l.x-b.x, a.y+r.y-l.y-b.y, a.z+r.z-l.z-b.z
			}
		}
	}
}

// circulations turns circulations of rings into those of filaments.
func circulations(grids []grid, ring, filament []float64) {
	across, along := filament[:len(filament)/2], filament[len(filament)/2:]
	for _, g := range grids {
		w := g.strips + 1
		for k := 0; k <= g.rows; k++ {
			o := g.node + k*w
			// Behind the trailing edge the last row goes on.
			c := g.cell + min(k, g.rows-1)*g.strips
			for j := 0; j < w; j++ {
				v := 0.0
				if j > 0 {
					v += ring[c+j-1]
				}
				if j < g.strips {
					v -= ring[c+j]
				}
				along[o+j] = v
				if k == g.rows || j == g.strips {
					across[o+j] = 0
					continue
				}
				v = ring[c+j]
				if k > 0 {
					v -= ring[c+j-g.strips]
				}
				across[o+j] = v
			}
		}
	}
}
