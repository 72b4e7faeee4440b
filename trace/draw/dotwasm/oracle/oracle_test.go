// Package oracle compares the layout engine with the library that it comes
// from. It is a package of its own because that library loads its engine, and
// writes its cache, in a package init.
package oracle

import (
	"bytes"
	"context"
	"regexp"
	"testing"

	"example.org/walkback/trace/draw/dotwasm"
	graphviz "github.com/goccy/go-graphviz"
	"github.com/google/go-cmp/cmp"
)

// graphs are small layouts of the shapes that our diagrams have.
var graphs = map[string]string{
	"chain":    `digraph { rankdir=LR; a -> b -> c }`,
	"sized":    `digraph { rankdir=LR; node [shape=box fixedsize=true width=1.2 height=0.5]; rail -> fuse -> switch; enable -> switch [style=dashed] }`,
	"feedback": `digraph { rankdir=LR; node [shape=box]; coil -> lx -> diode -> rail -> divider; divider -> driver [constraint=false]; driver -> lx }`,
	"fan":      `digraph { rankdir=LR; v -> a; v -> b; v -> c; a -> w; b -> w; c -> w }`,
}

// generator is the comment in which Graphviz names itself and its build.
var generator = regexp.MustCompile(`"?generator"?[^\n]*\n`)

// TestSameLayoutAsTheLibrary checks against the public API of
// github.com/goccy/go-graphviz v0.2.10 (Graphviz 12.1.2): the same positions,
// sizes and splines, to the digit.
func TestSameLayoutAsTheLibrary(t *testing.T) {
	ctx := context.Background()
	for name, text := range graphs {
		t.Run(name, func(t *testing.T) {
			got, err := dotwasm.Layout(ctx, []byte(text), "dot")
			if err != nil {
				t.Fatal(err)
			}
			gv, err := graphviz.New(ctx)
			if err != nil {
				t.Fatal(err)
			}
			defer gv.Close()
			graph, err := graphviz.ParseBytes([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			var want bytes.Buffer
			if err := gv.Render(ctx, graph, graphviz.XDOT, &want); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(positions(want.String()), positions(string(got))); diff != "" {
				t.Errorf("layout differs (-library +ours):\n%s", diff)
			}
			if len(positions(string(got))) < 5 {
				t.Errorf("only %d positions in:\n%s", len(positions(string(got))), got)
			}
		})
	}
}

// place matches what a layout says of nodes, edges and the whole.
var place = regexp.MustCompile(`\b(pos|bb|width|height)="?([^",\];]+(?:,[^"]+)?)"?`)

// positions lists the places in a laid-out graph in the order of the text.
func positions(text string) []string {
	var list []string
	for _, m := range place.FindAllStringSubmatch(generator.ReplaceAllString(text, ""), -1) {
		list = append(list, m[1]+"="+m[2])
	}
	return list
}
