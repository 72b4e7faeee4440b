package draw

import (
	"slices"
	"strconv"

	"example.org/walkback/trace/draw/ink"
)

const (
	maxRows    = 5
	rowGap     = 26.0
	joinRadius = 7.5
	joinReach  = 13.0 // from the cut to the centre of the join's circle
	foldGain   = 1.12 // a fold must make everything this much larger to be worth it
)

// join is one end of a line that goes on in another row, at the join of the
// same name.
type join struct {
	name  string
	at    ink.Point // where the line was cut
	mark  ink.Point // centre of the circle
	line  ink.Stroke
	faded bool
}

// scale is the factor that makes l as large as the given room allows.
func (l *layout) scale(width, height float64) float64 {
	return max(min(width/l.width, height/l.height, maxScale), 0.001)
}

// fit finds the form of the drawing that comes out largest on the given room:
// a long path in one row would be too small to read on a sheet of paper, so it
// may be cut into rows one below the other, as schematics go on from sheet to
// sheet.
func fit(l layout, width, height float64) (layout, float64) {
	best, scale := l, l.scale(width, height)
	gaps := l.gaps()
	for rows := 2; rows <= maxRows; rows++ {
		cuts := chooseCuts(gaps, l.width, rows)
		if len(cuts) != rows-1 {
			break
		}
		folded := l.fold(cuts)
		if s := folded.scale(width, height); s > scale*foldGain {
			best, scale = folded, s
		}
	}
	return best, scale
}

// gaps lists where a cut goes through lines only, just right of a column of
// nodes, so that arrow heads at the next column stay whole.
func (l *layout) gaps() []float64 {
	type span struct{ from, to float64 }
	var spans []span
	for _, n := range l.nodes {
		spans = append(spans, span{n.at.X - n.width/2, n.at.X + n.width/2})
	}
	for _, e := range l.edges {
		if e.label != "" {
			half := smallType.Width(e.label)/2 + 4
			spans = append(spans, span{e.labelAt.X - half, e.labelAt.X + half})
		}
	}
	slices.SortFunc(spans, func(a, b span) int {
		if a.from < b.from {
			return -1
		}
		if a.from > b.from {
			return 1
		}
		return 0
	})
	var gaps []float64
	end := 0.0
	for i, s := range spans {
		// The longest arrow head at the next column has to stay whole.
		if room := s.from - end - classStyles[Power].length - 3; i > 0 && room > 3 {
			gaps = append(gaps, end+min(9, room))
		}
		end = max(end, s.to)
	}
	return gaps
}

// chooseCuts takes the gaps nearest to an even division.
func chooseCuts(gaps []float64, width float64, rows int) []float64 {
	var cuts []float64
	for i := 1; i < rows; i++ {
		target := width * float64(i) / float64(rows)
		best := -1.0
		for _, g := range gaps {
			after := len(cuts) == 0 || g > cuts[len(cuts)-1]
			if after && (best < 0 || abs(g-target) < abs(best-target)) {
				best = g
			}
		}
		if best >= 0 {
			cuts = append(cuts, best)
		}
	}
	return cuts
}

func abs(v float64) float64 { return max(v, -v) }

// fold cuts the drawing at the given x positions and puts the parts one below
// the other.
func (l *layout) fold(cuts []float64) layout {
	out := layout{nodes: slices.Clone(l.nodes), edges: slices.Clone(l.edges)}
	for i := range out.edges {
		e := &out.edges[i]
		if len(e.curve) == 0 {
			continue
		}
		var crossings []crossing
		e.pieces, crossings = cutCurve(e.curve, cuts)
		for _, x := range crossings {
			st := styleOf(e.Class).line
			out.joins = append(out.joins,
				join{at: x.at, mark: ink.Pt(cuts[x.cut]+joinReach, x.at.Y), line: st, faded: e.Faded},
				join{at: x.at, mark: ink.Pt(cuts[x.cut]-joinReach, x.at.Y), line: st, faded: e.Faded})
		}
	}
	nameJoins(out.joins)
	out.stack(cuts)
	return out
}

// nameJoins gives both ends of a cut line the same name, from left to right and
// from top to bottom, and moves the circles of one cut apart.
func nameJoins(joins []join) {
	pairs := make([]int, len(joins)/2)
	for i := range pairs {
		pairs[i] = 2 * i
	}
	slices.SortStableFunc(pairs, func(a, b int) int {
		p, q := joins[a].mark, joins[b].mark
		switch {
		case p.X < q.X || p.X == q.X && p.Y < q.Y:
			return -1
		case p == q:
			return 0
		}
		return 1
	})
	for i, p := range pairs {
		if i > 0 {
			above := joins[pairs[i-1]].mark
			if above.X == joins[p].mark.X {
				y := max(joins[p].mark.Y, above.Y+2*joinRadius+2)
				joins[p].mark.Y, joins[p+1].mark.Y = y, y
			}
		}
		joins[p].name = joinName(i)
		joins[p+1].name = joins[p].name
	}
}

// joinName counts A to Z, then A2 to Z2 and so on.
func joinName(i int) string {
	name := string(rune('A' + i%26))
	if i >= 26 {
		name += strconv.Itoa(i/26 + 1)
	}
	return name
}

// row is one strip of a folded drawing.
type row struct{ top, bottom float64 }

func (r *row) include(top, bottom float64) {
	r.top, r.bottom = min(r.top, top), max(r.bottom, bottom)
}

// stack moves everything into its row. A join belongs to the row on the side
// of its cut away from its circle.
func (l *layout) stack(cuts []float64) {
	rowOf := func(x float64) int {
		i, _ := slices.BinarySearch(cuts, x)
		return i
	}
	rowOfJoin := func(j *join) int {
		i, _ := slices.BinarySearch(cuts, j.at.X)
		if i < len(cuts) && abs(cuts[i]-j.at.X) > 1e-6 || i == len(cuts) {
			i-- // the cut lies just left of the point, by rounding
		}
		if j.mark.X < j.at.X {
			i++
		}
		return i
	}
	rows := make([]row, len(cuts)+1)
	for i := range rows {
		rows[i] = row{1e9, -1e9}
	}
	for _, n := range l.nodes {
		rows[rowOf(n.at.X)].include(n.at.Y-n.height/2, n.at.Y+n.height/2)
	}
	for _, e := range l.edges {
		for _, p := range e.pieces {
			r := &rows[rowOf(middleOf(p).X)]
			for _, q := range p {
				r.include(q.Y, q.Y)
			}
		}
		if e.label != "" {
			rows[rowOf(e.labelAt.X)].include(e.labelAt.Y-8, e.labelAt.Y+8)
		}
	}
	for i := range l.joins {
		y := l.joins[i].mark.Y
		rows[rowOfJoin(&l.joins[i])].include(y-joinRadius, y+joinRadius)
	}
	const edge = joinReach + joinRadius + 2
	right := 0.0
	for _, n := range l.nodes {
		right = max(right, n.at.X+n.width/2)
	}
	shift := make([]ink.Point, len(rows))
	y := 0.0
	for i, r := range rows {
		left, end := 0.0, right
		if i > 0 {
			left = cuts[i-1] - edge
		}
		if i < len(cuts) {
			end = cuts[i] + edge
		}
		shift[i] = ink.Pt(-left, y-r.top)
		y += max(r.bottom-r.top, 0) + rowGap
		l.width = max(l.width, end-left)
	}
	l.height = y - rowGap

	for i := range l.nodes {
		n := &l.nodes[i]
		n.at = n.at.Plus(shift[rowOf(n.at.X)])
	}
	for i := range l.edges {
		e := &l.edges[i]
		e.labelAt = e.labelAt.Plus(shift[rowOf(e.labelAt.X)])
		for k, p := range e.pieces {
			by := shift[rowOf(middleOf(p).X)]
			if k == len(e.pieces)-1 {
				e.tip = e.tip.Plus(by)
			}
			for m := range p {
				p[m] = p[m].Plus(by)
			}
		}
	}
	for i := range l.joins {
		j := &l.joins[i]
		by := shift[rowOfJoin(j)]
		j.at, j.mark = j.at.Plus(by), j.mark.Plus(by)
	}
}

// drawJoin draws the lettered circle and the line to it.
func (c *canvas) drawJoin(j join) {
	text := ink.Black
	line := j.line
	if j.faded {
		line.Colour, text = ink.FadedLine, ink.Faded
	}
	c.Line(j.at, j.mark, line)
	c.Circle(j.mark, joinRadius, ink.Paint{Fill: ink.White, Line: ink.Solid(text, 1)})
	c.Text(j.name, ink.Pt(j.mark.X, j.mark.Y+tagType.Size*0.36), tagType, text, ink.Middle)
}

var joinLegend = legendEntry{"goes on at the same letter", func(c *canvas, at ink.Point) {
	c.drawJoin(join{name: "A", at: ink.Pt(at.X+4, at.Y), mark: ink.Pt(at.X+22, at.Y), line: ink.Solid(ink.Black, 1.2)})
}}
