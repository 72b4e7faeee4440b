package say

import (
	"slices"
	"strings"
)

// Table is rows of cells in columns that stand below each other. Where a row does
// not fit in a line, columns of words are broken first; then the columns that are
// left go on in a line below, or, with Blocks, in a table below.
type Table struct {
	Indent string   // before each row
	Head   int      // rows at the top that name the columns
	Rows   [][]Cell // nil for an empty line
	Words  []int    // columns of words, which may be broken
	Groups []int    // columns that begin a group, which stays in one line where it can; each when nil
	Blocks bool     // repeat the first column before the columns that do not fit

	Below int // how far the second line of a row stands in, in columns; 4 when 0

	notes map[int]string // below the row of that index
}

// Note puts lines below the last row, which stand as they are; not for Blocks.
func (t *Table) Note(lines string) {
	if t.notes == nil {
		t.notes = map[int]string{}
	}
	t.notes[len(t.Rows)-1] += lines
}

// Cell is a field of a table. On and Off take no room: they switch a colour on
// before each line of the text and off behind it.
type Cell struct {
	Text, On, Off string
}

// below is how far the second line of a row stands in.
func (t *Table) below() int {
	if t.Below == 0 {
		return usualIn
	}
	return t.Below
}

// Row makes cells of texts.
func Row(texts ...string) []Cell {
	row := make([]Cell, len(texts))
	for i, t := range texts {
		row[i] = Cell{Text: t}
	}
	return row
}

const (
	gap       = 2  // columns between cells
	leastCell = 18 // a column of words is not made narrower than that, in columns
	leastLast = 16 // nor the last one, of which long cells go below
	usualIn   = 4  // how far the second line of a row stands in, in columns
)

// column is a column of a table: how wide it is printed, to what it may be made
// narrower, and the same where else it would not fit, in columns of the terminal.
type column struct{ index, width, least, word int }

// Table writes a table.
func (w *Writer) Table(t *Table) {
	lines := t.fit(w.Width - Columns(t.Indent))
	parts := [][][]column{lines}
	if t.Blocks {
		parts = nil
		for _, l := range lines {
			parts = append(parts, [][]column{l})
		}
	}
	for i, part := range parts {
		if i > 0 {
			_ = w.WriteByte('\n')
		}
		for k, line := range part {
			for _, row := range t.Rows[:t.Head] {
				w.row(t, row, line, min(k, 1)*t.below())
			}
		}
		for r, row := range t.Rows[t.Head:] {
			for k, line := range part {
				w.row(t, row, line, min(k, 1)*t.below())
			}
			if row == nil {
				_ = w.WriteByte('\n')
			}
			_, _ = w.WriteString(t.notes[t.Head+r])
		}
	}
}

// fit deals the columns out to lines of at most room columns.
func (t *Table) fit(room int) [][]column {
	all := t.columns()
	if len(all) == 0 {
		return nil
	}
	if least(all) <= room {
		shrink(all, room)
		return [][]column{all}
	}
	best := t.deal(all, room)
	lost := t.shrink(best, room)
	for narrow := room - 1; narrow > 0; narrow-- {
		lines := t.deal(all, narrow)
		if len(lines) > len(best) {
			break
		}
		if n := t.shrink(lines, room); n <= lost {
			best, lost = lines, n
		}
	}
	return best
}

// deal puts columns, as narrow as they may be, into lines of at most room columns.
func (t *Table) deal(all []column, room int) [][]column {
	groups := t.group(all)
	var lines [][]column
	line, free := slices.Clone(groups[0]), room
	for _, g := range groups[1:] {
		if least(slices.Concat(line, g)) > free && (len(line) > 1 || !t.Blocks) {
			lines = append(lines, line)
			line, free = nil, room-t.below()
			if t.Blocks {
				line, free = []column{all[0]}, room
			}
		}
		line = append(line, g...)
	}
	return append(lines, line)
}

// group puts together the columns that stay in one line.
func (t *Table) group(all []column) [][]column {
	var groups [][]column
	for i, c := range all {
		if i == 0 || t.Groups == nil || slices.Contains(t.Groups, c.index) {
			groups = append(groups, nil)
		}
		last := len(groups) - 1
		groups[last] = append(groups[last], c)
	}
	return groups
}

// shrink makes lines of columns fit in room columns, and returns what that takes.
func (t *Table) shrink(lines [][]column, room int) int {
	lost := 0
	for i, l := range lines {
		free := room
		if i > 0 && !t.Blocks {
			free -= t.below()
		}
		if least(l) > free {
			for k := range l {
				l[k].least = l[k].word
			}
		}
		lost += shrink(l, free)
	}
	return lost
}

// columns measures the columns: as wide as their texts, and as narrow as they may
// be made.
func (t *Table) columns() []column {
	var all []column
	for _, row := range t.Rows {
		for i, c := range row {
			if i == len(all) {
				all = append(all, column{index: i})
			}
			n := Columns(c.Text)
			all[i].width = max(all[i].width, n)
			for _, word := range words(c.Text) {
				all[i].word = max(all[i].word, min(n, Columns(word)+1))
			}
			switch {
			case !slices.Contains(t.Words, i):
			case i > 0 && i == len(row)-1:
				n = min(n, leastLast)
			default:
				n = max(min(n, leastCell), all[i].word)
			}
			all[i].least = max(all[i].least, n)
		}
	}
	return all
}

// least is the narrowest that columns can be side by side.
func least(list []column) int {
	n := gap * (len(list) - 1)
	for _, c := range list {
		n += c.least
	}
	return n
}

// shrink makes the widest columns narrower until all fit, as far as that goes, and
// returns by how much.
func shrink(list []column, room int) (lost int) {
	total := gap * (len(list) - 1)
	for _, c := range list {
		total += c.width
	}
	for ; total-lost > room; lost++ {
		widest := -1
		for i, c := range list {
			if c.width > c.least && (widest < 0 || c.width > list[widest].width) {
				widest = i
			}
		}
		if widest < 0 {
			return lost
		}
		list[widest].width--
	}
	return lost
}

// row writes the columns of a row that stand in one line, or in several where
// cells are broken. Where all of them are empty it writes none, but for the head
// of the row.
func (w *Writer) row(t *Table, row []Cell, line []column, indent int) {
	cells := make([][]string, len(line))
	most := 0
	for i, c := range line {
		if c.index >= len(row) || row[c.index].Text == "" {
			continue
		}
		text := row[c.index].Text
		switch {
		case Columns(text) <= c.width:
			cells[i] = []string{text}
		default:
			cells[i] = pack(text, c.width, c.width-1)
			in := t.Indent + strings.Repeat(" ", t.below())
			room := w.Width - Columns(in)
			// Below it takes fewer lines, or is not too wide.
			if last := i > 0 && i == len(line)-1; last && (longest(text)+1 > c.width || len(pack(text, room, room-1))+1 < len(cells[i])) {
				cells[i] = nil
				defer w.Hang(in+row[c.index].On, in+" ", text+row[c.index].Off)
			}
		}
		most = max(most, len(cells[i]))
	}
	for k := range most {
		out := t.Indent + strings.Repeat(" ", indent)
		at := 0 // where the cell begins that comes next
		for i, c := range line {
			if k < len(cells[i]) {
				text := cells[i][k]
				if k > 0 {
					text = " " + text
				}
				cell := row[c.index]
				out += strings.Repeat(" ", max(0, at)) + cell.On + text + cell.Off
				at = -Columns(text)
			}
			at += c.width + gap
		}
		_, _ = w.WriteString(strings.TrimRight(out, " ") + "\n")
	}
}

// Grid writes short items in as many columns as fit.
func (w *Writer) Grid(indent string, items []string) {
	const between = 3
	width := 0
	for _, x := range items {
		width = max(width, Columns(x)+between)
	}
	room := w.Width - Columns(indent)
	per := max(1, (room+between)/max(width, 1))
	for row := range slices.Chunk(items, per) {
		if Columns(row[0]) > room {
			w.Hang(indent, indent+"  ", row[0])
			continue
		}
		line := indent
		for _, x := range row {
			line += x + strings.Repeat(" ", width-Columns(x))
		}
		_, _ = w.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}
