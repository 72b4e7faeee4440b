package netlist

import (
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist/say"
)

// WriteReference prints the reference of the format, made from the tables.
func WriteReference(out io.Writer) error {
	o := say.NewWriter(out)
	o.Beside("", "A board file has one statement a line; # begins a comment; an indented line continues the statement above or gives a rule "+
		"under it.")
	fmt.Fprintln(o, "\nStatements")
	for _, w := range StatementWords {
		writeForm(o, w.Form, w.Doc)
	}
	fmt.Fprintln(o)
	o.Hang("", "  ", "What happened to a machine, on a symptom line or with --history")
	for _, h := range Histories {
		o.Beside(fmt.Sprintf("  %-11s ", h.Name), h.Doc)
	}
	fmt.Fprintln(o)
	o.Hang("", "  ", "Kinds of part (walkback kinds KIND tells more)")
	for i := range Kinds {
		o.Beside(fmt.Sprintf("  %-11s ", Kinds[i].Name), Kinds[i].Summary)
		fmt.Fprintf(o, "              %s\n", Kinds[i].Example)
	}
	fmt.Fprintln(o, "\nAttributes of every part")
	writeAttrs(o, CommonAttrs)
	fmt.Fprintln(o, "\nRules, under a part or a net")
	for _, w := range RuleWords {
		writeForm(o, w.Form, w.Doc)
	}
	fmt.Fprintln(o)
	o.Beside("", "A condition joins nets, lanes, facts and STATE=VALUE with & | ! and parentheses.")
	o.Beside("", fmt.Sprintf("Limits: %d MiB a file, %d KiB a line, %d signs inside each other, %d names a range.", MaxFileBytes>>20,
		MaxLineBytes>>10, MaxNesting, MaxRange))
	return o.Flush()
}

// writeForm prints the form of a statement or a rule in one line, since it is
// typed, and what it says.
func writeForm(o *say.Writer, form, doc string) {
	fmt.Fprintf(o, "  %s\n", form)
	o.Beside("      ", doc)
}

func writeAttrs(o *say.Writer, list []Attr) {
	for _, a := range list {
		o.Beside(fmt.Sprintf("  %-10s ", a.Name), attrLine(a))
	}
}

func attrLine(a Attr) string {
	value := a.Unit.String()
	if len(a.Words) > 0 {
		value = strings.Join(a.Words, " or ")
	}
	text := a.Doc
	if value != "" {
		text += ", " + value
	}
	if a.Default != "" {
		text += ", usually " + a.Default
	}
	return text
}

// WriteKind prints all that is known of a kind.
func WriteKind(out io.Writer, k *Kind) error {
	o := say.NewWriter(out)
	o.Beside(k.Name+": ", k.Summary)
	fmt.Fprintf(o, "\n  %s\n\nDesignator letters: %s\n\nPins\n", k.Example, strings.Join(k.Letters, ", "))
	for _, p := range k.Pins {
		o.Beside(fmt.Sprintf("  %-6s ", p.Name), p.Doc+pinNotes(p))
	}
	if len(k.Attrs) > 0 {
		fmt.Fprintln(o, "\nAttributes")
		writeAttrs(o, k.Attrs)
	}
	if len(k.Rules) > 0 {
		fmt.Fprintln(o)
		o.Beside("Rules that may stand under it: ", strings.Join(k.Rules, ", "))
	}
	fmt.Fprintln(o)
	o.Beside("", fmt.Sprintf("How it fails (share of all its failures; on a bench one weighs %g, and a contact of a connector 1)", k.Bench))
	t := &say.Table{Indent: "  ", Words: []int{2}}
	for _, f := range k.Faults {
		share := "  -"
		if f.Share > 0 {
			share = fmt.Sprintf("%3.0f%%", f.Share*100)
		}
		doc := f.Doc + " (" + f.Source + ")"
		if f.Bench > 0 {
			doc += fmt.Sprintf("; on a bench it weighs %g", f.Bench)
		}
		if why := k.Hidden[f.Name]; why != "" {
			doc += "; no probe shows it: " + why
		}
		t.Rows = append(t.Rows, say.Row(f.Name, share, doc))
	}
	o.Table(t)
	fmt.Fprintln(o)
	o.Hang("", "  ", "Before it is replaced, a second proof")
	o.Wrap("  ", k.Proof)
	return o.Flush()
}

func pinNotes(p Pin) string {
	var notes []string
	if p.Need != NoReason {
		notes = append(notes, fmt.Sprintf("needed as its %s", p.Need))
	}
	if p.Many {
		notes = append(notes, "takes a list")
	}
	if p.Optional {
		notes = append(notes, "may be left out")
	}
	if len(notes) == 0 {
		return ""
	}
	return "; " + strings.Join(notes, "; ")
}
