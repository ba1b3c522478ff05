package lake

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"slices"
	"text/tabwriter"

	"example.org/groundeffect/gecp"
)

// Sheet is a page to print or to read on a telephone: parts in their order, and the
// cautions at its end.
type Sheet struct {
	Title string
	Parts []SheetPart
}

// SheetPart is a table and sentences below it; either may be missing.
type SheetPart struct {
	Title string
	Head  []string   // of the table's columns; their number is that of every row
	Rows  [][]string // an empty cell is to be filled in by hand
	Lines []string   // sentences
}

// blank is an empty cell of a sheet in text.
const blank = "________"

// WriteText writes the sheet for a terminal or a typewriter face. A sheet to fill in has
// lines for its empty cells.
func (s *Sheet) WriteText(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "%s\n", oneLine(s.Title))
	for _, p := range s.Parts {
		if p.Title != "" {
			fmt.Fprintf(b, "\n%s\n", oneLine(p.Title))
		}
		b.WriteByte('\n')
		if p.Rows != nil {
			t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
			for _, row := range slices.Concat([][]string{p.Head}, p.Rows) {
				for i, cell := range row {
					if cell = oneLine(cell); cell == "" {
						cell = blank
					}
					if i > 0 {
						cell = "\t" + cell
					}
					fmt.Fprint(t, cell)
				}
				fmt.Fprintln(t)
			}
			t.Flush() // errors stay with b
			if p.Lines != nil {
				b.WriteByte('\n')
			}
		}
		for _, l := range p.Lines {
			wrap(b, "", l)
		}
	}
	b.WriteByte('\n')
	wrap(b, "", gecp.Cautions)
	return b.Flush()
}

// WriteHTML writes the sheet as a page for printing: one document that needs nothing
// else, without scripts, in the look of the tow card.
func (s *Sheet) WriteHTML(w io.Writer) error {
	b := bufio.NewWriter(w)
	openPage(b, s.Title, "card sheet")
	for _, p := range s.Parts {
		if p.Title != "" {
			fmt.Fprintf(b, "<h2>%s</h2>\n", html.EscapeString(oneLine(p.Title)))
		}
		if p.Rows != nil {
			class := ""
			if slices.ContainsFunc(p.Rows, func(row []string) bool { return slices.Contains(row, "") }) {
				class = " class=\"fill\""
			}
			fmt.Fprintf(b, "<table%s>\n<thead><tr>", class)
			for _, h := range p.Head {
				fmt.Fprintf(b, "<th scope=\"col\">%s</th>", html.EscapeString(oneLine(h)))
			}
			b.WriteString("</tr></thead>\n<tbody>\n")
			for _, row := range p.Rows {
				b.WriteString("<tr>")
				for _, cell := range row {
					fmt.Fprintf(b, "<td>%s</td>", html.EscapeString(oneLine(cell)))
				}
				b.WriteString("</tr>\n")
			}
			b.WriteString("</tbody>\n</table>\n")
		}
		if p.Lines != nil {
			b.WriteString("<ul>\n")
			for _, l := range p.Lines {
				fmt.Fprintf(b, "<li>%s</li>\n", html.EscapeString(oneLine(l)))
			}
			b.WriteString("</ul>\n")
		}
	}
	closePage(b)
	return b.Flush()
}

// openPage begins a page for printing whose main element is of a class. Pages are written
// by hand, every text escaped, because html/template would double the size of the
// browser's WebAssembly.
func openPage(b *bufio.Writer, title, class string) {
	title = html.EscapeString(oneLine(title))
	fmt.Fprintf(b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>%s</title>\n<style>body { margin: 0 }\n%s</style>\n</head>\n<body>\n<main class=\"%s\">\n<h1>%s</h1>\n", title, cardStyle, class, title)
}

// closePage ends a page with the cautions.
func closePage(b *bufio.Writer) {
	fmt.Fprintf(b, "<p class=\"cautions\">%s</p>\n</main>\n</body>\n</html>\n", html.EscapeString(gecp.Cautions))
}
