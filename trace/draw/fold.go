package draw

import (
	"slices"
	"strconv"
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
	at    point // where the line was cut
	mark  point // centre of the circle
	line  stroke
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
		spans = append(spans, span{n.at.x - n.width/2, n.at.x + n.width/2})
	}
	for _, e := range l.edges {
		if e.label != "" {
			half := smallType.width(e.label)/2 + 4
			spans = append(spans, span{e.labelAt.x - half, e.labelAt.x + half})
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
				join{at: x.at, mark: point{cuts[x.cut] + joinReach, x.at.y}, line: st, faded: e.Faded},
				join{at: x.at, mark: point{cuts[x.cut] - joinReach, x.at.y}, line: st, faded: e.Faded})
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
		case p.x < q.x || p.x == q.x && p.y < q.y:
			return -1
		case p == q:
			return 0
		}
		return 1
	})
	for i, p := range pairs {
		if i > 0 {
			above := joins[pairs[i-1]].mark
			if above.x == joins[p].mark.x {
				y := max(joins[p].mark.y, above.y+2*joinRadius+2)
				joins[p].mark.y, joins[p+1].mark.y = y, y
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
		i, _ := slices.BinarySearch(cuts, j.at.x)
		if i < len(cuts) && abs(cuts[i]-j.at.x) > 1e-6 || i == len(cuts) {
			i-- // the cut lies just left of the point, by rounding
		}
		if j.mark.x < j.at.x {
			i++
		}
		return i
	}
	rows := make([]row, len(cuts)+1)
	for i := range rows {
		rows[i] = row{1e9, -1e9}
	}
	for _, n := range l.nodes {
		rows[rowOf(n.at.x)].include(n.at.y-n.height/2, n.at.y+n.height/2)
	}
	for _, e := range l.edges {
		for _, p := range e.pieces {
			r := &rows[rowOf(middleOf(p).x)]
			for _, q := range p {
				r.include(q.y, q.y)
			}
		}
		if e.label != "" {
			rows[rowOf(e.labelAt.x)].include(e.labelAt.y-8, e.labelAt.y+8)
		}
	}
	for i := range l.joins {
		y := l.joins[i].mark.y
		rows[rowOfJoin(&l.joins[i])].include(y-joinRadius, y+joinRadius)
	}
	const edge = joinReach + joinRadius + 2
	right := 0.0
	for _, n := range l.nodes {
		right = max(right, n.at.x+n.width/2)
	}
	shift := make([]point, len(rows))
	y := 0.0
	for i, r := range rows {
		left, end := 0.0, right
		if i > 0 {
			left = cuts[i-1] - edge
		}
		if i < len(cuts) {
			end = cuts[i] + edge
		}
		shift[i] = point{-left, y - r.top}
		y += max(r.bottom-r.top, 0) + rowGap
		l.width = max(l.width, end-left)
	}
	l.height = y - rowGap

	for i := range l.nodes {
		n := &l.nodes[i]
		n.at = n.at.plus(shift[rowOf(n.at.x)])
	}
	for i := range l.edges {
		e := &l.edges[i]
		e.labelAt = e.labelAt.plus(shift[rowOf(e.labelAt.x)])
		for k, p := range e.pieces {
			by := shift[rowOf(middleOf(p).x)]
			if k == len(e.pieces)-1 {
				e.tip = e.tip.plus(by)
			}
			for m := range p {
				p[m] = p[m].plus(by)
			}
		}
	}
	for i := range l.joins {
		j := &l.joins[i]
		by := shift[rowOfJoin(j)]
		j.at, j.mark = j.at.plus(by), j.mark.plus(by)
	}
}

func (p point) plus(q point) point { return point{p.x + q.x, p.y + q.y} }

// drawJoin draws the lettered circle and the line to it.
func (c *canvas) drawJoin(j join) {
	text := ink
	line := j.line
	if j.faded {
		line.colour, text = fadedLine, fadedInk
	}
	c.line(j.at, j.mark, line)
	c.circle(j.mark, joinRadius, paint{white, stroke{text, 1, ""}})
	c.text(j.name, point{j.mark.x, j.mark.y + tagType.size*0.36}, tagType, text, middle)
}

var joinLegend = legendEntry{"goes on at the same letter", func(c *canvas, at point) {
	c.drawJoin(join{name: "A", at: point{at.x + 4, at.y}, mark: point{at.x + 22, at.y}, line: stroke{ink, 1.2, ""}})
}}
