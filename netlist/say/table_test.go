package say

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// table prints a table at a width.
func table(t *Table, width int) string {
	var b bytes.Buffer
	w := NewWriter(&b)
	w.Width = width
	w.Table(t)
	_ = w.Flush()
	return b.String()
}

func sheet() *Table {
	return &Table{Indent: "  ", Head: 1, Words: []int{1}, Rows: [][]Cell{
		Row("net", "test point", "DC volts", "activity", "to ground"),
		Row("VMAIN", "TP1 top (beside C1)", "12.6 V (11.4 to 13.9)", "quiet", "90 kΩ"),
		Row("BL_LX", "", "12.6 V (11.4 to 13.9)", "32 V", "OL"),
		Row("VBL", "TP7 top (beside C35), TP8 bottom", "31.5 V (28.4 to 34.8)", "quiet", "40 kΩ"),
	}}
}

func TestTablesFold(t *testing.T) {
	blocks := sheet()
	blocks.Blocks = true
	for _, row := range []struct {
		name  string
		t     *Table
		width int
		want  string
	}{
		{"words break first", sheet(), 80, `
  net    test point                   DC volts               activity  to ground
  VMAIN  TP1 top (beside C1)          12.6 V (11.4 to 13.9)  quiet     90 kΩ
  BL_LX                               12.6 V (11.4 to 13.9)  32 V      OL
  VBL    TP7 top (beside C35), TP8    31.5 V (28.4 to 34.8)  quiet     40 kΩ
          bottom
`},
		{"then a row takes two lines", sheet(), 60, `
  net    test point
      DC volts               activity  to ground
  VMAIN  TP1 top (beside C1)
      12.6 V (11.4 to 13.9)  quiet     90 kΩ
  BL_LX
      12.6 V (11.4 to 13.9)  32 V      OL
  VBL    TP7 top (beside C35), TP8 bottom
      31.5 V (28.4 to 34.8)  quiet     40 kΩ
`},
		{"or a table comes below", blocks, 60, `
  net    test point                    DC volts
  VMAIN  TP1 top (beside C1)           12.6 V (11.4 to 13.9)
  BL_LX                                12.6 V (11.4 to 13.9)
  VBL    TP7 top (beside C35), TP8     31.5 V (28.4 to 34.8)
          bottom

  net    activity  to ground
  VMAIN  quiet     90 kΩ
  BL_LX  32 V      OL
  VBL    quiet     40 kΩ
`},
	} {
		if diff := cmp.Diff(strings.TrimPrefix(row.want, "\n"), table(row.t, row.width)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
	}
}

// Every cell of a column begins where the first one does, in its line of the row,
// at every width; no line is wider, no word is lost, and no unit stands alone.
func TestTablesKeepTheirColumns(t *testing.T) {
	word := rapid.StringMatching(`[a-zµΩ]{1,9}|[0-9]{1,3} k?Ω|[0-9]\.[0-9] V`)
	rapid.Check(t, func(t *rapid.T) {
		n, rows := rapid.IntRange(1, 6).Draw(t, "columns"), rapid.IntRange(1, 5).Draw(t, "rows")
		tab := &Table{Indent: "  ", Blocks: rapid.Bool().Draw(t, "blocks")}
		for c := range n {
			if rapid.Bool().Draw(t, "words") {
				tab.Words = append(tab.Words, c)
			}
		}
		for r := range rows {
			var row []Cell
			for c := range n {
				// Marks tell in the output which cell a word is of.
				text := fmt.Sprintf("<%d,%d> %s", r, c, strings.Join(rapid.SliceOfN(word, 0, 4).Draw(t, "cell"), " "))
				row = append(row, Cell{Text: strings.TrimSpace(text)})
			}
			tab.Rows = append(tab.Rows, row)
		}
		width := rapid.IntRange(40, 120).Draw(t, "width")
		got := table(tab, width)
		at := map[int]int{}
		for line := range strings.Lines(got) {
			line = strings.TrimRight(line, "\n")
			for r := range rows {
				for c := range n {
					before, _, ok := strings.Cut(line, fmt.Sprintf("<%d,%d>", r, c))
					if !ok {
						continue
					}
					if strings.TrimSpace(before) == "" && c > 0 {
						continue // too long a word for its column, below the others
					}
					if first, told := at[c]; told && first != Columns(before) {
						t.Fatalf("column %d begins at %d and at %d:\n%s", c, first, Columns(before), got)
					}
					at[c] = Columns(before)
				}
			}
			if Columns(line) > width {
				t.Fatalf("%d columns in %q at %d:\n%s", Columns(line), line, width, got)
			}
		}
		for r, row := range tab.Rows {
			for c, cell := range row {
				if !strings.Contains(got, fmt.Sprintf("<%d,%d>", r, c)) {
					t.Fatalf("%q is lost:\n%s", cell.Text, got)
				}
				for _, w := range words(cell.Text) {
					if !strings.Contains(got, w) {
						t.Fatalf("%q is lost or parted:\n%s", w, got)
					}
				}
			}
		}
	})
}

func TestGridFills(t *testing.T) {
	var b bytes.Buffer
	w := NewWriter(&b)
	w.Width = 40
	w.Grid("  ", []string{"F3  78 mΩ", "L4  110 mΩ", "D6  OL", "R36  1 MΩ", "J2  30 pins, each under 100 mΩ"})
	w.Grid("  ", []string{"F3  78 mΩ", "L4  110 mΩ", "D6  OL", "R36  1 MΩ"})
	_ = w.Flush()
	want := `  F3  78 mΩ
  L4  110 mΩ
  D6  OL
  R36  1 MΩ
  J2  30 pins, each under 100 mΩ
  F3  78 mΩ    L4  110 mΩ   D6  OL
  R36  1 MΩ
`
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
