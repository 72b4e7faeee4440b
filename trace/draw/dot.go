package draw

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/trace/draw/ink"
)

// dotClass is how DOT's own words come closest to the strokes of style.go.
var dotClass = [...]string{
	Power:  "penwidth=3",
	Enable: "style=dashed",
	Data:   "style=solid",
	Sense:  "style=dotted",
	Return: "style=dashed, color=gray50, arrowhead=vee",
	Load:   "style=solid, arrowhead=empty",
}

// DOT writes d as readable DOT text for use with Graphviz's own tools, nodes
// and edges in the order given. Unlike SVG it needs no layout.
func DOT(w io.Writer, d Diagram) error {
	if _, err := check(d); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "digraph %s {\n\trankdir=LR\n", dotQuote(d.Title))
	if caption := ink.Clean(d.Caption); caption != "" {
		fmt.Fprintf(&b, "\tlabel=%s\n", dotQuote(caption))
	}
	b.WriteString("\tnode [shape=box]\n")
	for _, n := range d.Nodes {
		fmt.Fprintf(&b, "\t%s [%s]\n", dotQuote(n.ID), strings.Join(dotNode(n), ", "))
	}
	for _, e := range d.Edges {
		fmt.Fprintf(&b, "\t%s -> %s [%s]\n", dotQuote(e.From), dotQuote(e.To), strings.Join(dotEdge(e), ", "))
	}
	b.WriteString("}\n")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	return nil
}

func dotNode(n Node) []string {
	lines := []string{orBlank(ink.Clean(n.Label))}
	for _, s := range n.Detail {
		lines = append(lines, ink.Clean(s))
	}
	if n.Mark != "" {
		lines = append(lines, "at "+ink.Clean(n.Mark))
	}
	if len(n.Points) > 0 {
		lines = append(lines, pointText(n.Points))
	}
	if word := styleOfKnowledge(n.Knowledge).word; word != "" {
		lines = append(lines, word)
	}
	if n.Single {
		lines = append(lines, "single")
	}
	attrs := []string{"label=" + dotQuote(lines...)}
	switch {
	case n.Role == Source:
		attrs = append(attrs, "shape=cds")
	case n.Role == Symptom:
		attrs = append(attrs, "shape=octagon")
	case n.Shape == Net:
		attrs = append(attrs, "shape=underline")
	case n.Shape == Fact:
		attrs = append(attrs, "shape=hexagon")
	}
	if n.Single {
		attrs = append(attrs, "peripheries=2")
	}
	if n.Faded {
		attrs = append(attrs, "color=gray70, fontcolor=gray45")
	}
	return attrs
}

func dotEdge(e Edge) []string {
	class := e.Class
	if int(class) >= len(dotClass) {
		class = Power
	}
	attrs := []string{dotClass[class]}
	if label := ink.Clean(e.Label); label != "" {
		attrs = append(attrs, "label="+dotQuote(label))
	}
	if e.Loop {
		attrs = append(attrs, "constraint=false")
	}
	if e.Faded {
		attrs = append(attrs, "color=gray70, fontcolor=gray45")
	}
	return attrs
}

var dotEscaper = strings.NewReplacer(`\`, `\\`, `"`, `\"`)

// dotQuote writes lines as one quoted DOT string.
func dotQuote(lines ...string) string {
	var b strings.Builder
	b.WriteByte('"')
	for i, s := range lines {
		if i > 0 {
			b.WriteString(`\n`)
		}
		b.WriteString(dotEscaper.Replace(ink.Clean(s)))
	}
	b.WriteByte('"')
	return b.String()
}
