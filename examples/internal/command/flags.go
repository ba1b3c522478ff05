package command

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Craft defines -craft and returns what reads the craft: the demo craft if the flag is
// not given.
func (p *Program) Craft() func() (*gecp.Craft, error) {
	var name string
	p.Flags.Func("craft", "craft `file`; the demo craft if not given", func(s string) error {
		if s == "" {
			return errors.New("it is empty; give a craft file, or leave the flag out for the demo craft")
		}
		name = s
		return nil
	})
	return func() (*gecp.Craft, error) {
		if name == "" {
			return gecp.Demo(), nil
		}
		return p.ReadCraft(name)
	}
}

// ReadCraft reads a craft file.
func (p *Program) ReadCraft(name string) (*gecp.Craft, error) {
	p.used = append(p.used, name)
	return gecp.ReadFile(name)
}

// BuildMap makes the map of a craft's wings on a mesh; a terminal shows what it is called
// meanwhile and how far it is.
func (p *Program) BuildMap(ctx context.Context, c *gecp.Craft, mesh gecp.Mesh, called string) (*gecp.Map, error) {
	m, err := gecp.NewModel(c, mesh)
	if err != nil {
		return nil, err
	}
	return m.BuildMap(ctx, gecp.MapOptions{Progress: p.Stage(called)})
}

// Number defines a flag for a number between two others, both allowed, and not 0 unless
// they are. A default of NaN stands for a flag that may be left out.
func (p *Program) Number(name, usage string, standard, lo, hi float64) *float64 {
	v := standard
	if !math.IsNaN(standard) {
		usage += fmt.Sprintf(" (default %.4g)", standard)
	}
	p.Flags.Func(name, usage, func(s string) error {
		x, err := number(s)
		if err != nil {
			return err
		}
		if !(x >= lo && x <= hi) {
			return fmt.Errorf("give a number between %v and %v", lo, hi)
		}
		v = x
		return nil
	})
	return &v
}

// Density defines -density.
func (p *Program) Density() *float64 {
	return p.Number("density", "air density, `kg/m3`", gecp.AirDensity, .1, 10)
}

// Numbers defines a flag for a list of finite numbers, as 0.1,0.2; nil if it is not
// given.
func (p *Program) Numbers(name, usage string) *[]float64 {
	var list []float64
	p.Flags.Func(name, usage, func(s string) error {
		list = nil
		for _, part := range strings.Split(s, ",") {
			x, err := number(strings.TrimSpace(part))
			if err != nil {
				return err
			}
			list = append(list, x)
		}
		return nil
	})
	return &list
}

func number(s string) (float64, error) {
	x, err := strconv.ParseFloat(s, 64)
	switch {
	case s == "":
		return 0, errors.New("a number is missing; write a list as 0.1,0.2,0.5")
	case err != nil || math.IsNaN(x) || math.IsInf(x, 0):
		return 0, fmt.Errorf("%q is not a number; write it as 0.25, a list as 0.1,0.2,0.5", s)
	}
	return x, nil
}

// Units defines -us.
func (p *Program) Units() func() units.System {
	us := p.Flags.Bool("us", false, "print feet, inches, pounds and miles per hour")
	return func() units.System {
		if *us {
			return units.Customary
		}
		return units.Metric
	}
}

// Mesh defines -mesh.
func (p *Program) Mesh() *gecp.Mesh {
	m := gecp.DefaultMesh()
	p.Flags.Func("mesh", fmt.Sprintf("`ROWSxSTRIPS` of the lattice on each half wing (default %dx%d)", m.Rows, m.Strips), func(s string) error {
		var n gecp.Mesh
		if _, err := fmt.Sscanf(s, "%dx%d", &n.Rows, &n.Strips); err != nil || fmt.Sprintf("%dx%d", n.Rows, n.Strips) != s || n.Rows < 1 || n.Strips < 1 {
			return fmt.Errorf("%q is no mesh; write rows and strips as 4x8", s)
		}
		m = n
		return nil
	})
	return &m
}

// Wake defines -wake.
func (p *Program) Wake() *gecp.WakeWay {
	var w gecp.WakeWay
	p.Flags.Func("wake", "the way of wakes that pass other wings, `free|straight`: with the flow, or along the stream (quicker, errs to the unsafe side) (default free)", func(s string) (err error) {
		w, err = gecp.ParseWakeWay(s)
		return err
	})
	return &w
}
