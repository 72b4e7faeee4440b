package netlist

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// WriteReference prints the reference of the format, made from the tables.
func WriteReference(out io.Writer) error {
	o := bufio.NewWriter(out)
	fmt.Fprintln(o, "A board file has one statement a line; # begins a comment; an indented line continues\nthe statement above or gives a rule under it.")
	fmt.Fprintln(o, "\nStatements")
	for _, w := range StatementWords {
		fmt.Fprintf(o, "  %s\n      %s\n", w.Form, w.Doc)
	}
	fmt.Fprintln(o, "\nKinds of part (walkback kinds KIND tells more)")
	for i := range Kinds {
		fmt.Fprintf(o, "  %-11s %s\n              %s\n", Kinds[i].Name, Kinds[i].Summary, Kinds[i].Example)
	}
	fmt.Fprintln(o, "\nAttributes of every part")
	for _, a := range CommonAttrs {
		fmt.Fprintf(o, "  %s\n", attrLine(a))
	}
	fmt.Fprintln(o, "\nRules, under a part or a net")
	for _, w := range RuleWords {
		fmt.Fprintf(o, "  %s\n      %s\n", w.Form, w.Doc)
	}
	fmt.Fprintln(o, "\nA condition joins nets, lanes, facts and STATE=VALUE with & | ! and parentheses.")
	fmt.Fprintf(o, "Limits: %d MiB a file, %d KiB a line, %d signs inside each other, %d names a range.\n", MaxFileBytes>>20, MaxLineBytes>>10, MaxNesting, MaxRange)
	return o.Flush()
}

func attrLine(a Attr) string {
	value := a.Unit.String()
	if len(a.Words) > 0 {
		value = strings.Join(a.Words, " or ")
	}
	text := fmt.Sprintf("%-10s %s", a.Name, a.Doc)
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
	o := bufio.NewWriter(out)
	fmt.Fprintf(o, "%s: %s\n\n  %s\n\nDesignator letters: %s\n\nPins\n", k.Name, k.Summary, k.Example, strings.Join(k.Letters, ", "))
	for _, p := range k.Pins {
		fmt.Fprintf(o, "  %-6s %s%s\n", p.Name, p.Doc, pinNotes(p))
	}
	if len(k.Attrs) > 0 {
		fmt.Fprintln(o, "\nAttributes")
		for _, a := range k.Attrs {
			fmt.Fprintf(o, "  %s\n", attrLine(a))
		}
	}
	if len(k.Rules) > 0 {
		fmt.Fprintf(o, "\nRules that may stand under it: %s\n", strings.Join(k.Rules, ", "))
	}
	fmt.Fprintf(o, "\nHow it fails (share of all its failures; weight %g, see README)\n", k.Rate)
	for _, f := range k.Faults {
		share := "   -"
		if f.Share > 0 {
			share = fmt.Sprintf("%3.0f%%", f.Share*100)
		}
		fmt.Fprintf(o, "  %-13s %s  %s (%s)\n", f.Name, share, f.Doc, f.Source)
	}
	fmt.Fprintf(o, "\nBefore it is replaced, a second proof\n  %s\n", k.Proof)
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
