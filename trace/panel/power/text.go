package power

import (
	"fmt"
	"io"

	"example.org/walkback/netlist/say"
)

// Text writes a report for people: the events in their order, the windows, and what is
// wrong with them.
func Text(out io.Writer, r Report) error {
	o := say.NewWriter(out)
	o.Hang("", "", r.Profile.Title)
	o.Hang("", "", r.Verdict)
	o.WriteString("\nThe order, with the times that were measured:\n")
	order := &say.Table{Indent: "  "}
	for _, k := range schedule(&r.Profile, &r.Measured) {
		order.Rows = append(order.Rows, say.Row(k.when(), fmt.Sprint(k.Event)))
	}
	o.Table(order)
	o.WriteString("\n")
	windows := &say.Table{Indent: "  "}
	for i := range r.Results {
		x := &r.Results[i]
		windows.Rows = append(windows.Rows, say.Row(x.Name, x.From.String()+" → "+x.To.String(), fmt.Sprint(x.Span), x.short()))
	}
	o.Table(windows)
	head := func(text string) {
		o.WriteString("\n")
		o.Hang("", "", text)
	}
	for _, x := range r.Results {
		if x.Status.Wrong() || x.Status == Unsure {
			head(x.Name + ": " + x.Says + ".")
			x.Meaning.text(o)
		}
	}
	for _, d := range r.Order {
		head("Wrong order: " + d.Says + ".")
	}
	for _, m := range r.Missing {
		head(fmt.Sprintf("Never came: %s. It waits for %s.", m.Event, m.WaitsFor))
	}
	o.WriteString("\n")
	for _, n := range r.Profile.Notes {
		o.Hang("", "", n)
	}
	for _, n := range r.Cautions {
		o.Hang("", "", "Caution: "+n)
	}
	return o.Flush()
}

// short is value and verdict in a few words.
func (r *Result) short() string {
	text := r.Status.String()
	if r.By > 0 {
		text = r.By.String() + " " + text
	}
	if r.Value != nil {
		text = r.Value.String() + ", " + text
	}
	return text
}

// text writes a meaning, where there is one.
func (m Meaning) text(o *say.Writer) {
	if m.Means != "" {
		o.Hang("    ", "    ", fmt.Sprintf("It means (%s): %s.", m.Basis, m.Means))
	}
	for _, l := range m.Look {
		o.Hang("    ", "    ", "Look at "+l+".")
	}
}
