package lake

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// WriteMarkdown writes the card as Markdown with a table.
func (t *TowCard) WriteMarkdown(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\n\n", markdown(t.title()))
	towed, behind := t.columns()
	t.pipes(b, towed)
	v := t.Units.Speed()
	b.WriteString("\n## Speed by speed\n\n")
	for i := range t.Rungs {
		fmt.Fprintf(b, "- **%s** %s\n", v.Words(t.Rungs[i].Speed, units.Nearest), markdown(t.Rungs[i].Verdict))
	}
	b.WriteString("\n## Figures behind it\n\n")
	t.pipes(b, behind)
	b.WriteString("\n## The craft\n\n")
	for _, s := range t.facts() {
		fmt.Fprintf(b, "- %s\n", markdown(s))
	}
	b.WriteString("\n## Reading the card\n\n")
	for _, s := range t.notes() {
		fmt.Fprintf(b, "- %s\n", markdown(s))
	}
	fmt.Fprintf(b, "\n**%s**\n", gecp.Cautions)
	return b.Flush()
}

// pipes writes columns as a Markdown table.
func (t *TowCard) pipes(b *bufio.Writer, cols []column) {
	for _, c := range cols {
		fmt.Fprintf(b, "| %s ", c.title())
	}
	b.WriteString("|\n" + strings.Repeat("|--:", len(cols)) + "|\n")
	for i := range t.Rungs {
		for _, c := range cols {
			fmt.Fprintf(b, "| %s ", markdown(c.cell(&t.Rungs[i])))
		}
		b.WriteString("|\n")
	}
}

// markdown keeps text from being read as mark-up.
func markdown(s string) string {
	var b strings.Builder
	for _, r := range oneLine(s) {
		if strings.ContainsRune("\\`*_{}[]<>#|~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
