package vlm

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// FreeWake is the way that the wakes take which pass other wings. A wake is a stream
// surface, so its trailing legs follow the flow about all wings, all wakes and the images
// in the water. Between the trailing edge and a chord behind the aftmost wing they do so
// here, in straight pieces; from there on, and behind the aftmost wing, they run along the
// stream, as without a FreeWake they do from the trailing edge. It is immutable.
//
// It holds the legs' offsets from the trailing edge. Used at another height or pitch than
// the one it was found at, it is the wake that has kept its way, carried along by the
// trailing edge.
type FreeWake struct {
	lattice *Lattice
	paths   [][]path // per surface and column of nodes; nil for straight legs
	// Passes is how many times all legs were laid along the flow, and Change by how much
	// the last time moved a corner at most, m. Where that is more than some millimetres the
	// legs have not come to rest: a wake that meets a wing may pass over it or under it.
	Passes int
	Change float64
}

// Bent reports whether any leg leaves the straight way: whether any wing lies behind
// another.
func (w *FreeWake) Bent() bool {
	for _, p := range w.paths {
		if p != nil {
			return true
		}
	}
	return false
}

// Leg returns the corners of the trailing leg that leaves a surface at a column of its
// nodes, 0 at the first edge of its strips, as offsets from the trailing edge there, m, in
// the axes of the water; nil if it runs straight.
func (w *FreeWake) Leg(surface, column int) []r3.Vec {
	if w.paths[surface] == nil {
		return nil
	}
	var leg []r3.Vec
	for _, v := range w.paths[surface][column] {
		leg = append(leg, v.r3())
	}
	return leg
}

const (
	// wakePieces are the straight pieces of a leg, short near the trailing edge, where the way
	// bends most: their ends lie at the wakePower of equal parts. With 12 equal pieces the
	// centre of pressure of a tandem lies within a millimetre of where it lies so.
	wakePieces = 6
	wakePower  = 1.5
	wakePasses = 40   // at most
	wakeRest   = 1e-3 // m, a change that ends the passes
	// wakeCore4 is how much wider, to the 4th, a leg's core is in its effect on legs than in
	// that on wings: twice. Legs of a sheet that rolls up come closer to each other than the
	// strips are wide, and a leg that meets a wing comes close to its filaments, which do not
	// give the flow there; the filaments of other wings have such a core, too. With narrower
	// cores legs wind about each other and the passes do not converge; where they do, the
	// centre of pressure differs by less than 3 mm.
	wakeCore4 = 16
	// wakeFloor is the least height of a leg's corner, in heights of the trailing edge that it
	// leaves; the flow along the water does not bring it lower, but a pass may.
	wakeFloor = .2
)

// FreeWake finds the wakes' way at an attitude. Its errors are those of Solve.
func (l *Lattice) FreeWake(ctx context.Context, at Attitude) (*FreeWake, error) {
	p, err := l.AtPitch(ctx, at.Pitch)
	if err != nil {
		return nil, err
	}
	return p.FreeWake(ctx, at.Height)
}

// FreeWake finds the wakes' way with the datum at the height over the water, m; +Inf is
// free air. Its errors are those of Solve. It begins with straight wakes and the
// circulations that they give, lays the legs along the flow until they rest, asks for the
// circulations again, and so on until both rest. The circulations are those of thin wings:
// thickness changes them by a few hundredths, and the way with them by a few millimetres.
func (p *PitchedLattice) FreeWake(ctx context.Context, height float64) (*FreeWake, error) {
	return p.freeWake(ctx, height, p.straightPaths())
}

// FreeWakeFrom is FreeWake from the way at another attitude nearby as the first guess,
// which saves passes and leaves the same rest of error in both. It panics if w belongs to
// another lattice.
func (p *PitchedLattice) FreeWakeFrom(ctx context.Context, height float64, w *FreeWake) (*FreeWake, error) {
	w.mustBe(p.l)
	guess := make([][]path, len(w.paths))
	for i, legs := range w.paths {
		for _, leg := range legs {
			guess[i] = append(guess[i], slices.Clone(leg))
		}
	}
	return p.freeWake(ctx, height, guess)
}

func (w *FreeWake) mustBe(l *Lattice) {
	if w.lattice != l {
		panic("vlm: the free wake is another lattice's")
	}
}

// freeWake is FreeWake from a first guess, which it takes over.
func (p *PitchedLattice) freeWake(ctx context.Context, height float64, paths [][]path) (*FreeWake, error) {
	w := &FreeWake{lattice: p.l, paths: paths}
	if err := p.checkHeight(height); err != nil {
		return nil, err
	}
	if !w.Bent() {
		return w, nil
	}
	c := &canceller{ctx: ctx}
	ws := p.l.scratch.Get().(*workspace)
	defer p.l.scratch.Put(ws)
	water := !math.IsInf(height, 1)
	q := p
	share, before := 1., math.Inf(1)
	for w.Passes < wakePasses {
		if err := ws.thinCirculations(c, q, height, water); err != nil {
			return nil, err
		}
		first := true
		for w.Passes < wakePasses {
			change, err := p.layWakes(c, ws, height, w.paths, share)
			if err != nil {
				return nil, err
			}
			w.Passes++
			w.Change = change
			if change > .7*before {
				share = math.Max(.7*share, .2) // the passes overshoot
			}
			before = change
			if change < wakeRest {
				if first {
					return w, nil // the new circulations have moved nothing
				}
				break
			}
			first = false
		}
		var err error
		if q, err = p.bend(c, w.paths); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// SolveWith returns the flow with the wakes on the way of w, with the datum at the height
// over the water, m. The derivatives hold the wakes' way, carried along by the trailing
// edges. The errors are those of Solve. It panics if w belongs to another lattice.
func (p *PitchedLattice) SolveWith(ctx context.Context, height float64, w *FreeWake) (*Solution, error) {
	w.mustBe(p.l)
	if err := p.checkHeight(height); err != nil {
		return nil, err
	}
	q := p
	if w.Bent() {
		var err error
		if q, err = p.bend(&canceller{ctx: ctx}, w.paths); err != nil {
			return nil, err
		}
	}
	return q.Solve(ctx, height)
}

// straightPaths returns the legs that may bend, still straight: those of bodies that end
// ahead of the end of another.
func (p *PitchedLattice) straightPaths() [][]path {
	l := p.l
	aft := map[int]float64{} // per body, x of its aftmost node
	end, chord := math.Inf(-1), 0.
	for _, g := range l.grids {
		for n := g.node; n < g.node+(g.rows+1)*(g.strips+1); n++ {
			x, ok := aft[g.body]
			if !ok || p.field.node.x[n] > x {
				aft[g.body] = p.field.node.x[n]
			}
		}
	}
	for _, x := range aft {
		end = math.Max(end, x)
	}
	for i, g := range l.grids {
		if aft[g.body] == end {
			for _, st := range l.surfaces[i].Stations {
				chord = math.Max(chord, st.Chord)
			}
		}
	}
	paths := make([][]path, len(l.grids))
	for i, g := range l.grids {
		if aft[g.body] == end {
			continue
		}
		paths[i] = make([]path, g.strips+1)
		for j := range paths[i] {
			x := p.field.node.x[g.node+g.rows*(g.strips+1)+j]
			paths[i][j] = make(path, wakePieces+1)
			for k := range paths[i][j] {
				paths[i][j][k].x = (end + chord - x) * math.Pow(float64(k)/wakePieces, wakePower)
			}
		}
	}
	return paths
}

// layWakes lays each leg along the flow, once, in place, from the trailing edge aft, by a
// share of the way from where it lies; it returns by how far a corner lay off at most, m.
// The flow is that of the circulations in ws.state[steady] and of the legs as they lie.
func (p *PitchedLattice) layWakes(c *canceller, ws *workspace, height float64, paths [][]path, share float64) (change float64, err error) {
	l := p.l
	n := l.node.len()
	f := p.field
	f.bent = paths
	k := &sumKernel{g: make([]float64, 2*n), first: n, core: l.core, widen: wakeCore4, body: noBody}
	circulations(l.grids, ws.state[steady], k.g)
	parts := make([]field, len(l.grids)) // grid by grid
	for i := range parts {
		parts[i] = field{grids: f.grids[i : i+1], node: f.node, mirror: f.mirror, bent: paths[i : i+1]}
	}
	velocity := func(x, y, z float64, body int) vec {
		sum := func(z float64, image bool) vec {
			k.v = vec{}
			for i, g := range l.grids {
				k.wing = 0
				if image || g.body != body {
					k.wing = wakeCore4 * l.core[g.node+g.rows*(g.strips+1)]
				}
				parts[i].evaluate(x, y, z, k, &ws.rows)
			}
			return k.v
		}
		v := sum(z, false)
		if !math.IsInf(height, 1) {
			im := sum(-z-2*height, true)
			v.x, v.y, v.z = v.x+im.x, v.y+im.y, v.z-im.z
		}
		return vec{1 + over4Pi*v.x, over4Pi * v.y, over4Pi * v.z}
	}
	// From the trailing edge aft, the same piece of all legs at once: the pieces ahead of it
	// are laid, the pieces behind it move along. So in one pass a bend reaches the end.
	for k := range wakePieces {
		type move struct{ y, z float64 }
		var moves []move
		for i, g := range l.grids {
			if err := c.spend(2 * len(paths[i]) * 2 * n * operationsPerFilament); err != nil {
				return 0, err
			}
			for j, leg := range paths[i] {
				at := f.node.at(g.node + g.rows*(g.strips+1) + j)
				a, b := leg[k], leg[k+1]
				v := velocity(at.X+(a.x+b.x)/2, at.Y+(a.y+b.y)/2, at.Z+(a.z+b.z)/2, g.body)
				if l.mirror && at.Y == 0 {
					v.y = 0
				}
				step := (b.x - a.x) / v.x
				y, z := a.y+step*v.y, a.z+step*v.z
				if !math.IsInf(height, 1) {
					z = math.Max(z, (wakeFloor-1)*(at.Z+height))
				}
				moves = append(moves, move{y - b.y, z - b.z})
			}
		}
		next := 0
		for i := range paths {
			for _, leg := range paths[i] {
				m := moves[next]
				next++
				change = math.Max(change, math.Hypot(m.y, m.z))
				for q := k + 1; q < len(leg); q++ {
					leg[q].y += share * m.y
					leg[q].z += share * m.z
				}
			}
		}
	}
	return change, nil
}
