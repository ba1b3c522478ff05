// Command study answers for many craft: one craft a line on its input, one JSON line of
// answers each on its output, in order, so that any engine that spreads lines over
// machines spreads a study.
package main

import (
	"context"
	"io"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("study", `Answers for many craft: reads one craft a line, a craft file without line breaks or
{"base": FILE, "set": {"wings[1].x_m": 3.2}}, and writes one JSON line of answers each, in order.
A line that is wrong is answered by its error. By equilibrium: people's reaction is not asked.

`+gecp.Cautions, "the study")
	p.Stream = true
	speed := p.Number("speed", "speed through the air, `m/s`", 14, .1, gecp.MaxSpeed)
	from := p.Number("from", "the first `line` to answer, counted from 1", 1, 1, 1<<53)
	count := p.Number("count", "how many `lines` to answer at most; all if 0", 0, 0, 1<<53)
	density := p.Density()
	mesh := p.Mesh()
	return p, func(ctx context.Context, out io.Writer) error {
		p.Stage("answering")
		return design.Study(ctx, p.In, out, design.StudyOptions{
			Speed: *speed, Density: *density, Mesh: *mesh, From: int(*from), Count: int(*count),
		})
	}
}
