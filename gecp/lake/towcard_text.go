package lake

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// WriteText writes the card for a terminal or a typewriter face.
func (t *TowCard) WriteText(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "%s\n\n", t.title())
	towed, behind := t.columns()
	t.grid(b, towed)
	b.WriteByte('\n')
	t.grid(b, behind)
	b.WriteByte('\n')
	v := t.Units.Speed()
	for i := range t.Rungs {
		r := &t.Rungs[i]
		wrap(b, fmt.Sprintf("%3s %s  ", v.Number(r.Speed, units.Nearest), v.Name), r.Verdict)
	}
	for _, part := range [][]string{t.facts(), t.notes(), {gecp.Cautions}} {
		b.WriteByte('\n')
		for _, s := range part {
			wrap(b, "", s)
		}
	}
	return b.Flush()
}

// grid writes columns, each as wide as its widest cell.
func (t *TowCard) grid(b *bufio.Writer, cols []column) {
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
	line := func(cell func(c column) string) {
		for _, c := range cols {
			fmt.Fprintf(w, "%s\t", cell(c))
		}
		fmt.Fprintln(w)
	}
	line(func(c column) string { return c.head })
	line(func(c column) string { return c.unit })
	for i := range t.Rungs {
		line(func(c column) string { return c.cell(&t.Rungs[i]) })
	}
	w.Flush() // errors stay with b
}

// wrap writes a text behind a head, its lines no longer than 100 letters if words
// allow.
func wrap(b *bufio.Writer, head, text string) {
	const width = 100
	b.WriteString(head)
	indent := utf8.RuneCountInString(head)
	at := indent
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	b.WriteByte('\n')
}
