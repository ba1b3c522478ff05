package lake

import (
	"bufio"
	_ "embed"
	"fmt"
	"html"
	"io"
	"strings"
)

// cardStyle is the look of the sheet, whose outermost element is of the class "card".
//
//go:embed towcard.css
var cardStyle string

// CardStyle returns the style sheet of the card as WriteHTML writes it, for whoever
// shows its main element in a page of their own.
func CardStyle() string { return cardStyle }

// WriteHTML writes the card as a page for printing: one document that needs nothing
// else, without scripts. picture is an SVG element that is put in as it is, and so must
// not hold anything from a stranger unescaped; it may be empty.
func (t *TowCard) WriteHTML(w io.Writer, picture string) error {
	b := bufio.NewWriter(w)
	class := "card"
	if len(t.Rungs) > 11 { // so that the card stays on one page
		class += " dense"
	}
	openPage(b, t.title(), class)
	facts := t.facts()
	fmt.Fprintf(b, "<p class=\"lead\">%s</p>\n", html.EscapeString(strings.Join(facts[:2], " ")))

	towed, behind := t.columns()
	towed = append(towed, column{"what to expect", "", func(r *TowRung) string { return r.Verdict }})
	t.table(b, "tow", towed, func(*TowRung) bool { return true })

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
	closePage(b)
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
		case r.Range.OK:
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
			fmt.Fprintf(&body, "<td%s data-column=\"%s\">%s</td>", mark, html.EscapeString(c.title()), html.EscapeString(c.cell(r)))
		}
		body.WriteString("</tr>\n")
	}
	if body.Len() == 0 {
		return
	}
	fmt.Fprintf(b, "<table class=\"%s\">\n<thead><tr>", class)
	for _, c := range cols {
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", html.EscapeString(c.title()))
	}
	fmt.Fprintf(b, "</tr></thead>\n<tbody>\n%s</tbody>\n</table>\n", body.String())
}
