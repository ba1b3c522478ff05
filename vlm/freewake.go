package vlm

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// FreeWake is the way that the wakes take which pass other wings. A wake is a stream
// surface, so its trailing legs follow the flow about all wings, all wakes and the images
// in the water. Between the trailing edge and a chord behind the aftmost wing they do so
// here, in straight pieces, the first of them along the stream; from there on, and behind
// the aftmost wing, they run along the stream, as without a FreeWake they do from the
// trailing edge. It is immutable.
//
// It holds the legs' offsets from the trailing edge. Used at another height or pitch than
// the one it was found at, it is the wake that has kept its way, carried along by the
// trailing edge.
type FreeWake struct {
	lattice *Lattice
	paths   [][]path // per surface and column of nodes; nil for straight legs
	// Change is by how much the last pass moved a corner at most, m: some centimetres as a
	// rule, which the loads hardly feel. Where it is a decimetre a wake meets a wing, and may
	// pass over it or under it.
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
	// wakeCore4 is how much wider, to the 4th, a leg's core is in its effect on legs than in
	// that on wings: twice. Legs of a sheet that rolls up come closer to each other than the
	// strips are wide, and a leg that meets a wing comes close to its filaments, which do not
	// give the flow there; the filaments of other wings have such a core, too. With narrower
	// cores legs wind about each other and further passes do not converge; where they do, the
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

// wakePasses are how many times the legs are laid along the flow with the circulations
// that straight wakes give, and then with those that the legs as they lie give. The number
// is fixed, so that the way is a smooth function of height and pitch and does not depend on
// a guess. Where further passes come to rest, the centre of pressure then is that after
// these within .2 % of the mean chord; and where a wake meets a wing they do not.
var wakePasses = [...]int{3, 2}

// FreeWake finds the wakes' way with the datum at the height over the water, m; +Inf is
// free air. Its errors are those of Solve. It begins with straight wakes and the
// circulations that they give, lays the legs along the flow, asks for the circulations
// again, and lays the legs once more. The circulations are those of thin wings: thickness
// changes them by a few hundredths, and the way with them by a few millimetres.
func (p *PitchedLattice) FreeWake(ctx context.Context, height float64) (*FreeWake, error) {
	return p.freeWake(ctx, height, p.straightPaths(), wakePasses[:])
}

// freeWake is FreeWake from a first guess, which it takes over, with numbers of passes.
func (p *PitchedLattice) freeWake(ctx context.Context, height float64, paths [][]path, passes []int) (*FreeWake, error) {
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
	for i, n := range passes {
		if i > 0 {
			var err error
			if q, err = p.bend(c, w.paths, false); err != nil {
				return nil, err
			}
		}
		if err := ws.thinCirculations(c, q, height, water); err != nil {
			return nil, err
		}
		for range n {
			var err error
			if w.Change, err = p.layWakes(c, ws, height, w.paths); err != nil {
				return nil, err
			}
		}
	}
	return w, nil
}

func (w *FreeWake) mustBe(l *Lattice) {
	if w.lattice != l {
		panic("vlm: the free wake is another lattice's")
	}
}

// CombineFreeWakes returns the weighted sum of wakes' ways, corner by corner; Change is
// the largest of theirs. With weights that sum to 1 it is a way between them, with weights that
// sum to 0 a change of the way: see [WakeMotion]. It panics unless there are as many weights
// as wakes, one or more, all of one lattice.
func CombineFreeWakes(weights []float64, wakes []*FreeWake) *FreeWake {
	if len(wakes) == 0 || len(weights) != len(wakes) {
		panic("vlm: as many weights as free wakes are needed, and one or more")
	}
	first := wakes[0]
	out := &FreeWake{lattice: first.lattice, paths: make([][]path, len(first.paths))}
	for i, legs := range first.paths {
		for _, leg := range legs {
			out.paths[i] = append(out.paths[i], make(path, len(leg)))
		}
	}
	for k, w := range wakes {
		w.mustBe(first.lattice)
		out.Change = max(out.Change, w.Change)
		for i, legs := range w.paths {
			for j, leg := range legs {
				for c := range leg {
					out.paths[i][j][c].add(weights[k], &leg[c])
				}
			}
		}
	}
	return out
}

// SolveWith returns the flow with the wakes on the way of w, with the datum at the height
// over the water, m. The derivatives hold the wakes' way, carried along by the trailing
// edges. The errors are those of Solve. It panics if w belongs to another lattice.
func (p *PitchedLattice) SolveWith(ctx context.Context, height float64, w *FreeWake) (*Solution, error) {
	return p.solveBent(ctx, height, w, nil)
}

// SolveFollowing is SolveWith with the derivatives of the total change: the wakes' way
// changes as m says. It panics if one of the ways belongs to another lattice.
func (p *PitchedLattice) SolveFollowing(ctx context.Context, height float64, w *FreeWake, m WakeMotion) (*Solution, error) {
	m.ByHeight.mustBe(p.l)
	m.ByPitch.mustBe(p.l)
	return p.solveBent(ctx, height, w, &m)
}

func (p *PitchedLattice) solveBent(ctx context.Context, height float64, w *FreeWake, m *WakeMotion) (*Solution, error) {
	w.mustBe(p.l)
	if err := p.checkHeight(height); err != nil {
		return nil, err
	}
	q := p
	if w.Bent() {
		var err error
		if q, err = p.bend(&canceller{ctx: ctx}, w.paths, true); err != nil {
			return nil, err
		}
		q.motion = m
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

// layWakes lays each leg along the flow, once, in place, from the trailing edge aft; it
// returns by how far a corner lay off at most, m.
// The flow is that of the circulations in ws.state[steady] and of the legs as they lie.
func (p *PitchedLattice) layWakes(c *canceller, ws *workspace, height float64, paths [][]path) (change float64, err error) {
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
				// The first piece along the stream: at an angle to the chordwise filaments of
				// its wing the leg would have vorticity across the stream that they do not
				// have, and its effect at the trailing edge would grow with the logarithm of
				// the strips' number.
				y, z := a.y, a.z
				if k > 0 {
					v := velocity(at.X+(a.x+b.x)/2, at.Y+(a.y+b.y)/2, at.Z+(a.z+b.z)/2, g.body)
					if l.mirror && at.Y == 0 {
						v.y = 0
					}
					step := (b.x - a.x) / v.x
					y, z = y+step*v.y, z+step*v.z
				}
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
					leg[q].y += m.y
					leg[q].z += m.z
				}
			}
		}
	}
	return change, nil
}
