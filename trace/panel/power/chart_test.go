package power

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func chartOf(r Report) string { return string(Chart(r).SVG) }

func TestChartIsWellFormedAndTellsAll(t *testing.T) {
	for name, r := range reports(t) {
		svg := chartOf(r)
		if again := chartOf(r); again != svg {
			t.Errorf("%s: a second chart differs", name)
		}
		titles := map[string]bool{}
		dec := xml.NewDecoder(strings.NewReader(svg))
		for in := false; ; {
			tok, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch tok := tok.(type) {
			case xml.StartElement:
				in = tok.Name.Local == "title"
				if tok.Name.Local == "text" {
					t.Errorf("%s: a text that needs a font", name)
				}
			case xml.EndElement:
				in = false
			case xml.CharData:
				if in {
					titles[string(tok)] = true
				}
			}
		}
		for _, x := range r.Results {
			if !titles[x.Name+": "+x.Says] {
				t.Errorf("%s: nothing says %q", name, x.Says)
			}
		}
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: a place that is no number", name)
		}
		if *lookDir != "" {
			if err := os.WriteFile(filepath.Join(*lookDir, name+".svg"), []byte(svg), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func TestEveryVerdictHasItsOwnColourOrShape(t *testing.T) {
	icons := map[string]Status{}
	for s, l := range looks {
		if other, ok := icons[l.icon]; ok || l.icon == "" {
			t.Errorf("%s looks like %s", Status(s), other)
		}
		icons[l.icon] = Status(s)
	}
	if len(icons) != len(statusNames) {
		t.Errorf("%d signs for %d verdicts", len(icons), len(statusNames))
	}
}

func TestChartStaysOnThePage(t *testing.T) {
	place := regexp.MustCompile(`(?:translate\(|[MLC])(-?[\d.]+) (-?[\d.]+)`)
	for name, r := range reports(t) {
		svg := chartOf(r)
		for _, line := range strings.Split(svg, "\n") {
			// Outlines of letters have a scale of their own.
			if head, _, ok := strings.Cut(line, ` d="M`); ok && strings.Contains(head, "translate") {
				line = head
			}
			for _, m := range place.FindAllStringSubmatch(line, -1) {
				var x, y float64
				if _, err := fmt.Sscan(m[1], &x); err != nil {
					t.Fatal(err)
				}
				if _, err := fmt.Sscan(m[2], &y); err != nil {
					t.Fatal(err)
				}
				if x < 20 || x > 1103 || y < 20 || y > 774 {
					t.Fatalf("%s: something stands at %g, %g: %.80s", name, x, y, line)
				}
			}
		}
	}
}

// What stands beside an arrow covers no event's name and no other verdict: each window has
// a line of its own.
func TestEachWindowHasALine(t *testing.T) {
	base := regexp.MustCompile(`(?s)<g[^>]*class="window"[^>]*>.*?<path[^>]*translate\([-\d.]+ ([-\d.]+)\)`)
	for name, r := range reports(t) {
		seen := map[string]bool{}
		for _, m := range base.FindAllStringSubmatch(chartOf(r), -1) {
			seen[m[1]] = true
		}
		if len(seen) != len(r.Results) {
			t.Errorf("%s: %d lines for %d windows", name, len(seen), len(r.Results))
		}
	}
}

func TestPNGIsASheet(t *testing.T) {
	var b bytes.Buffer
	if err := Chart(reports(t)["edp_light_first"]).PNG(t.Context(), &b, 100); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if size := img.Bounds().Size(); size.X != 1170 || size.Y != 827 {
		t.Errorf("%v, want A4 at 100 dpi", size)
	}
}
