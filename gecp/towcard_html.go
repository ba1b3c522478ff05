package gecp

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"strings"
)

// cardStyle is the sheet's look: one page of A4 or Letter, large where it is read
// from a boat.
const cardStyle = `
@page { margin: 9mm }
* { box-sizing: border-box }
html { background: #eceae3; color: #16202a; font: 9.6pt/1.28 system-ui, "Helvetica Neue", Arial, sans-serif; font-variant-numeric: tabular-nums }
body { margin: 0 }
main { max-width: 192mm; margin: 0 auto; padding: 5mm; background: #fff }
h1 { font-size: 17pt; line-height: 1.1; margin: 0 0 1mm; overflow-wrap: anywhere }
p, ul { margin: 0 }
.lead { font-size: 11pt; margin-bottom: 2mm }
table { border-collapse: collapse; width: 100% }
th { font-weight: 500; font-size: 8pt; color: #4a5560; text-align: right; vertical-align: bottom; padding: 0 1.6mm .6mm; border-bottom: .35mm solid #16202a }
td { text-align: right; padding: .35mm 1.6mm; border-bottom: .15mm solid #c9cdd0; vertical-align: middle; white-space: nowrap; overflow-wrap: anywhere }
th:last-child, td:last-child { padding-right: 0 }
.tow td:last-child, .tow th:last-child { text-align: left; white-space: normal; width: 56%; font-size: 9pt }
.tow tr.fly td { font-size: 11pt }
.tow tr.fly td:last-child { font-size: 9pt }
.tow td.go { font-weight: 700 }
.tow tr.fly td.go { font-size: 27pt; line-height: 1; color: #16202a }
.tow tr.fly td:first-child { font-size: 19pt; font-weight: 600; line-height: 1 }
.tow tr.stop td { background: #f1f0ec }
.below { display: flex; gap: 4mm; margin: 2.5mm 0 2mm; align-items: flex-start }
.below figure { margin: 0; flex: none }
.below svg { display: block; width: auto; height: 68mm }
.below ul { flex: 1; padding: 0; list-style: none; font-size: 8pt }
.below li { margin-bottom: .9mm }
.behind td, .behind th { font-size: 8pt }
.notes { font-size: 7.8pt; color: #36414b; margin-top: 2mm }
.cautions { margin-top: 2mm; padding-top: 1.5mm; border-top: .5mm solid #16202a; font-weight: 600; font-size: 9pt }
.dense .tow td { font-size: 8pt; padding-top: 0; padding-bottom: 0 }
.dense .tow td:last-child, .dense .tow tr.fly td:last-child { font-size: 7.4pt; line-height: 1.15; width: 62% }
.dense .tow tr.fly td.go { font-size: 19pt }
.dense .tow tr.fly td:first-child { font-size: 14pt }
.dense .below svg { height: 40mm }
.dense .below ul { columns: 2; font-size: 7.2pt; line-height: 1.2 }
.dense .below li { break-inside: avoid }
.dense .behind td, .dense .notes { font-size: 7.2pt; padding-top: 0; padding-bottom: 0; line-height: 1.2 }
@media print { html { background: none } main { max-width: none; padding: 0 } tr, figure { break-inside: avoid } }
`

// WriteHTML writes the card as a page for printing: one document that needs nothing
// else, without scripts. picture is an SVG element that is put in as it is, and
// so must not hold anything from a stranger unescaped; it may be empty.
func (t *TowCard) WriteHTML(w io.Writer, picture string) error {
	b := bufio.NewWriter(w)
	title := html.EscapeString(t.title())
	dense := ""
	if len(t.Rungs) > 11 { // so that the card stays on one page
		dense = ` class="dense"`
	}
	fmt.Fprintf(b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>%s</title>\n<style>%s</style>\n</head>\n<body>\n<main%s>\n<h1>%s</h1>\n", title, cardStyle, dense, title)
	facts := t.facts()
	fmt.Fprintf(b, "<p class=\"lead\">%s</p>\n", html.EscapeString(strings.Join(facts[:2], " ")))

	tow, behind := t.columns()
	tow = append(tow, column{"what to expect", "", func(r *TowRung) string { return r.Verdict }})
	t.table(b, "tow", tow, func(*TowRung) bool { return true })

	b.WriteString("<div class=\"below\">\n")
	if picture != "" {
		fmt.Fprintf(b, "<figure>%s</figure>\n", picture)
	}
	b.WriteString("<ul>\n")
	for _, s := range facts[2:] {
		fmt.Fprintf(b, "<li>%s</li>\n", html.EscapeString(s))
	}
	b.WriteString("</ul>\n</div>\n")

	t.table(b, "behind", behind, func(r *TowRung) bool { return !r.rests() })
	fmt.Fprintf(b, "<p class=\"notes\">%s</p>\n", html.EscapeString(strings.Join(t.notes(), " ")))
	fmt.Fprintf(b, "<p class=\"cautions\">%s</p>\n</main>\n</body>\n</html>\n", html.EscapeString(Cautions))
	return b.Flush()
}

// table writes columns of the rungs wanted; nothing if none is.
func (t *TowCard) table(b *bufio.Writer, class string, cols []column, want func(*TowRung) bool) {
	var body strings.Builder
	for i := range t.Rungs {
		r := &t.Rungs[i]
		if !want(r) {
			continue
		}
		kind := "water"
		switch {
		case r.Usable:
			kind = "fly"
		case !r.rests():
			kind = "stop"
		}
		fmt.Fprintf(&body, "<tr class=\"%s\">", kind)
		for j, c := range cols {
			mark := ""
			if class == "tow" && j == 1 {
				mark = " class=\"go\""
			}
			fmt.Fprintf(&body, "<td%s>%s</td>", mark, html.EscapeString(c.cell(r)))
		}
		body.WriteString("</tr>\n")
	}
	if body.Len() == 0 {
		return
	}
	fmt.Fprintf(b, "<table class=\"%s\">\n<thead><tr>", class)
	for _, c := range cols {
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", html.EscapeString(strings.TrimSuffix(c.head+", "+c.unit, ", ")))
	}
	fmt.Fprintf(b, "</tr></thead>\n<tbody>\n%s</tbody>\n</table>\n", body.String())
}
