package vlm

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxPitch bounds the pitch and the incidence, rad: thin wings in attached flow
// mean nothing far below it.
const maxPitch = 45 * math.Pi / 180

// Pose is a lattice turned to one pitch. It holds the part of the influences
// that does not change with height, so solving a ladder of heights at one pitch
// costs little more than the water's images. It is immutable and safe for use by
// several goroutines.
type Pose struct {
	l        *Lattice
	pitch    float64
	sin, cos float64
	field    field
	ctrl     points
	normal   points
	mid, seg points
	lowest   []float64 // per surface, z of its lowest point from the datum, m
	deepest  []float64 // per surface, the same of the sheet that it is part of

	wash      []float64 // cells x cells: normal velocity at control point i of ring j
	twist     []float64 // cells x strips: what pitching adds to it beyond turning it, per circulation shed
	u, t      points    // per element: directions square to it, see loads
	push      []pair    // elements x cells: velocity at the middle of element e of ring j
	pushTwist []pair    // elements x strips: as twist
	sheets    []Sheet   // the wakes, without their circulations

	mu   sync.Mutex
	seen map[string]*mirrored // by the surfaces' refinements
}

// Pose turns the lattice nose-up by pitch (rad) about the datum. It is an error
// if the pitch is not within ±45 degrees.
func (l *Lattice) Pose(pitch float64) (*Pose, error) {
	if !(math.Abs(pitch) <= maxPitch) {
		return nil, fmt.Errorf("a pitch of %.4g degrees is outside the method's range of ±%.0f degrees", pitch*180/math.Pi, maxPitch*180/math.Pi)
	}
	sin, cos := math.Sincos(pitch)
	p := &Pose{
		l: l, pitch: pitch, sin: sin, cos: cos,
		field:  field{grids: l.grids, node: l.node.turned(sin, cos), mirror: l.mirror},
		ctrl:   l.ctrl.turned(sin, cos),
		normal: l.normal.turned(sin, cos),
		mid:    l.mid.turned(sin, cos),
		seg:    l.seg.turned(sin, cos),
		lowest: make([]float64, len(l.surfaces)),
	}
	for i, h := range l.hull {
		p.lowest[i] = math.Inf(1)
		for _, v := range h {
			p.lowest[i] = math.Min(p.lowest[i], v.Z*cos-v.X*sin)
		}
	}
	p.deepest = slices.Clone(p.lowest)
	for i, g := range l.grids {
		for k, o := range l.grids {
			if o.sheet == g.sheet {
				p.deepest[i] = math.Min(p.deepest[i], p.lowest[k])
			}
		}
	}
	p.sheets = p.wakeSheets()
	n, elements, strips := l.Cells(), l.mid.len(), len(l.stripWidth)
	r := l.rigidly()
	p.wash, p.twist = slices.Clone(r.wash), make([]float64, n*strips)
	p.push, p.pushTwist = slices.Clone(r.push), make([]pair, elements*strips)
	p.u, p.t = r.u.turned(sin, cos), r.t.turned(sin, cos)
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	for _, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			normal := r3.Scale(over4Pi, p.normal.at(i))
			ws.trailAt(p, p.ctrl.x[i], p.ctrl.y[i], p.ctrl.z[i], g.body, func(st int, v, twist vec) {
				p.wash[i*n+l.last[st]] += r3.Dot(normal, v.r3())
				p.twist[i*strips+st] = r3.Dot(normal, twist.r3())
			})
		}
	}
	for e, g := range l.grid {
		u, t := r3.Scale(over4Pi, p.u.at(e)), r3.Scale(over4Pi, p.t.at(e))
		ws.trailAt(p, p.mid.x[e], p.mid.y[e], p.mid.z[e], l.grids[g].body, func(st int, v, twist vec) {
			to := &p.push[e*n+l.last[st]]
			to.u += r3.Dot(u, v.r3())
			to.t += r3.Dot(t, v.r3())
			p.pushTwist[e*strips+st] = pair{r3.Dot(u, twist.r3()), r3.Dot(t, twist.r3())}
		})
	}
	return p, nil
}

// mirrored is the field whose mirror image in the water the wings see.
type mirrored struct {
	*images
	field field
}

// mirrored returns the field refined as given.
func (p *Pose) mirrored(finer []byte) *mirrored {
	p.mu.Lock()
	defer p.mu.Unlock()
	if m := p.seen[string(finer)]; m != nil {
		return m
	}
	im := p.l.imagesFor(finer)
	m := &mirrored{im, field{grids: im.grids, node: im.node.turned(p.sin, p.cos), mirror: p.l.mirror}}
	if p.seen == nil {
		p.seen = map[string]*mirrored{}
	}
	p.seen[string(finer)] = m
	return m
}

// Pitch returns the pose's pitch, rad.
func (p *Pose) Pitch() float64 { return p.pitch }

// checkWater reports the surface that lies in the water with the datum at the
// height, and how deep.
func (p *Pose) checkWater(height float64) error {
	worst, depth := -1, 0.0
	for i, z := range p.lowest {
		if d := -(height + z); d >= 0 && (worst < 0 || d > depth) {
			worst, depth = i, d
		}
	}
	if worst < 0 {
		return nil
	}
	return &WetError{Surface: p.l.surfaces[worst].Name, Depth: depth, Height: height, Pitch: p.pitch}
}

// WetError says that a surface touches the water or lies under it, where the
// flow above it has no meaning.
type WetError struct {
	Surface string
	Depth   float64 // m under the water, 0 if it just touches
	Height  float64 // m, of the datum
	Pitch   float64 // rad
}

func (e *WetError) Error() string {
	return fmt.Sprintf("%q is in the water: with the datum %.3f m above it and the nose up %.2f degrees its lowest point lies %.3f m deep; raise the craft", e.Surface, e.Height, e.Pitch*180/math.Pi, e.Depth)
}

// rot is the derivative with pitch of a vector that turns with the craft.
func rot(v r3.Vec) r3.Vec { return r3.Vec{X: v.Z, Z: -v.X} }
