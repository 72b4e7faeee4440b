package power

import (
	"context"
	"fmt"
	"io"
	"math"

	"example.org/walkback/trace/draw/ink"
)

// SVG writes the report as a timing chart on a page of A4, landscape.
func SVG(w io.Writer, r Report) error {
	if _, err := w.Write(picture(r).SVG); err != nil {
		return fmt.Errorf("power: %w", err)
	}
	return nil
}

// PNG writes the picture of SVG at dpi dots an inch; 0 stands for 150.
func PNG(ctx context.Context, w io.Writer, r Report, dpi int) error {
	if err := picture(r).PNG(ctx, w, dpi); err != nil {
		return fmt.Errorf("power: %w", err)
	}
	return nil
}

var (
	titleType = ink.Title
	textType  = ink.Body
	smallType = ink.Small
	nameType  = ink.Bold(11)
	valueType = ink.Bold(9.5)
)

// Sizes in user units.
const (
	margin     = 30.0 // 8 mm, which every office printer can reach
	labelWidth = 118.0
	rowHeight  = 27.0
	waveHeight = 15.0
	laneHeight = 15.0
	lineGap    = 14.3
)

// look is how one verdict is drawn: colour, stroke and shape all differ, so that
// the chart can be read in grey.
type look struct {
	colour string
	line   ink.Stroke
	icon   string // SVG path in a square of 10 by 10
}

var looks = [...]look{
	NotMeasured: {ink.Faded, ink.Solid(ink.Faded, 1), "M1.5 5L8.5 5"},
	InRange:     {ink.Green, ink.Solid(ink.Green, 2), "M1 5.5L4 8.5L9 1.5"},
	TooEarly:    {ink.Vermillion, ink.Solid(ink.Vermillion, 2.6), "M8.5 1L2 5L8.5 9Z"},
	TooLate:     {ink.Vermillion, ink.Solid(ink.Vermillion, 2.6), "M1.5 1L8 5L1.5 9Z"},
	Unsure:      {ink.Orange, ink.Dashed(ink.Orange, 2, "6 3"), "M5 0.5L9.5 5L5 9.5L0.5 5Z"},
	Never:       {ink.Vermillion, ink.Dashed(ink.Vermillion, 2.6, "2 3"), "M1.5 1.5L8.5 8.5M8.5 1.5L1.5 8.5"},
	NotJudged:   {ink.Faded, ink.Dashed(ink.Faded, 1, "2 3"), "M2 1.5L2 8.5M8 1.5L8 8.5"},
}

// chart is a drawing in progress. With a nil canvas it only measures.
type chart struct {
	c     *ink.Canvas
	r     Report
	marks []mark
	rows  []row
	width float64
	y     float64
}

func picture(r Report) ink.Picture {
	page := ink.Sheet(297, 210)
	room := ink.Pt(page.Width-2*margin, page.Height-2*margin)
	scale := 1.0
	for scale > 0.3 && newChart(nil, r, room.X/scale).draw() > room.Y/scale {
		scale *= 0.96
	}
	c := &ink.Canvas{Scale: scale, Move: ink.Pt(margin, margin)}
	newChart(c, r, room.X/scale).draw()
	return c.Picture(r.Profile.Title, r.Verdict, page)
}

func newChart(c *ink.Canvas, r Report, width float64) *chart {
	marks := schedule(&r.Profile, &r.Measured)
	return &chart{c: c, r: r, marks: marks, rows: rows(marks), width: width}
}

// draw draws all of it and returns the height used.
func (d *chart) draw() float64 {
	d.lines(titleType, ink.Black, 0, d.r.Profile.Title)
	d.lines(textType, ink.Soft, 0, d.r.Verdict+". The axis is not to scale: events stand in their order.")
	d.y += 4
	d.times()
	d.guides()
	d.waves()
	d.lanes()
	d.y += 8
	d.legend()
	d.notes()
	return d.y
}

// lines writes text from y downwards, broken at the width.
func (d *chart) lines(t ink.Typeface, colour string, indent float64, text string) {
	for _, line := range t.Wrap(ink.Clean(text), d.width-indent, 8) {
		d.y += t.LineHeight()
		d.text(line, ink.Pt(indent, d.y-3), t, colour, ink.Start)
	}
}

func (d *chart) text(s string, at ink.Point, t ink.Typeface, colour string, a ink.Align) {
	if d.c != nil {
		d.c.Text(s, at, t, colour, a)
	}
}

func (d *chart) line(a, b ink.Point, s ink.Stroke) {
	if d.c != nil {
		d.c.Line(a, b, s)
	}
}

func (d *chart) icon(l look, at ink.Point) {
	if d.c != nil {
		d.c.Icon(l.icon, at, 9, ink.Solid(l.colour, 1.8))
	}
}

// x is where a place on the axis stands.
func (d *chart) x(x float64) float64 { return labelWidth + x*(d.width-labelWidth) }

func (d *chart) xOf(e Event) float64 {
	for _, k := range d.marks {
		if k.Event == e {
			return d.x(k.x)
		}
	}
	return labelWidth
}

// packer finds a lane in which a piece of a line is still free.
type packer struct{ ends [][][2]float64 }

func (p *packer) put(from, to float64) int {
	for lane := 0; ; lane++ {
		if lane == len(p.ends) {
			p.ends = append(p.ends, nil)
		}
		free := true
		for _, e := range p.ends[lane] {
			free = free && (to < e[0] || from > e[1])
		}
		if free {
			p.ends[lane] = append(p.ends[lane], [2]float64{from, to})
			return lane
		}
	}
}

// times writes when each event came above its line.
func (d *chart) times() {
	var p packer
	for _, k := range d.marks {
		if !k.timed && !k.never {
			continue
		}
		half := valueType.Width(k.when(""))/2 + 4
		x := min(d.x(k.x), d.width-half)
		lane := p.put(x-half, x+half)
		d.text(k.when(""), ink.Pt(x, d.y+lineGap*float64(lane+1)-3), valueType, ink.Black, ink.Middle)
	}
	d.y += lineGap * float64(len(p.ends))
}

// guides draws a thin line at every event, behind the rows and windows that follow.
func (d *chart) guides() {
	end := *d
	end.c = nil
	end.waves()
	end.lanes()
	for _, k := range d.marks {
		style := ink.Dashed(ink.FadedLine, 0.7, "1.5 3")
		if k.timed {
			style = ink.Solid("#8c8c8c", 0.7)
		}
		d.line(ink.Pt(d.x(k.x), d.y), ink.Pt(d.x(k.x), end.y), style)
	}
}

// waves draws one row a signal, cut where the panel runs for a time that is not drawn.
func (d *chart) waves() {
	gap := 0.0
	if i := pause(d.marks); i > 0 {
		gap = d.x((d.marks[i-1].x + d.marks[i].x) / 2)
	}
	for _, r := range d.rows {
		base := d.y + rowHeight - 5
		d.text(r.signal.String(), ink.Pt(0, base-3), nameType, ink.Black, ink.Start)
		if d.c != nil {
			d.c.Begin("signal", r.signal.String())
			d.wave(&r, base)
			if gap > 0 {
				d.breakMark(gap, base)
			}
			d.c.End()
		}
		d.y += rowHeight
	}
}

// wave draws the level of a signal, and the sign of what never came, or of what cannot
// come without it, where its edge is not.
func (d *chart) wave(r *row, base float64) {
	for _, p := range r.pieces {
		d.c.Line(ink.Pt(d.x(p.x0), base-waveHeight*p.y0), ink.Pt(d.x(p.x1), base-waveHeight*p.y1), p.stroke())
	}
	for _, k := range r.stops {
		l := looks[NotJudged]
		if k.never {
			l = looks[Never]
		}
		d.icon(l, ink.Pt(d.x(k.x)-4.5, base-12))
	}
}

func (p *piece) stroke() ink.Stroke {
	switch {
	case p.edge && p.timed:
		return ink.Solid(ink.Black, 2.6)
	case p.edge:
		return usualEdge
	case p.open:
		return openEnd
	}
	return ink.Solid(ink.Black, 1.8)
}

var (
	usualEdge = ink.Dashed(ink.Black, 1.8, "3 2.4")
	openEnd   = ink.Dashed(ink.Faded, 1.8, "1 3")
)

// breakMark cuts a row where the panel runs for a time that is not drawn.
func (d *chart) breakMark(x, base float64) {
	d.c.Rect(ink.Box{At: ink.Pt(x-3, base-waveHeight-3), Width: 6, Height: waveHeight + 6}, ink.Paint{Fill: ink.White})
	for _, dx := range []float64{-3, 3} {
		d.c.Line(ink.Pt(x+dx-2, base+3), ink.Pt(x+dx+2, base-waveHeight-3), ink.Solid(ink.Black, 1))
	}
}

// lanes draws the windows as arrows from event to event, each with its name, what
// was measured and what is wanted, and the sign of its verdict.
func (d *chart) lanes() {
	d.y += 7
	var p packer
	for i := range d.r.Results {
		r := &d.r.Results[i]
		from, to := d.xOf(r.From), d.xOf(r.To)
		label := fmt.Sprintf("%s  %s", r.Name, r.Span)
		if r.Value != nil {
			label = fmt.Sprintf("%s  %s (%s)", r.Name, r.Value, r.Span)
		}
		left, right := min(from, to), max(from, to)
		wide := smallType.Width(label) + 22
		textAt := right + 6
		if right-left > wide+14 {
			textAt = (left + right - wide) / 2
		} else if textAt+wide > d.width {
			textAt = left - wide - 6
		}
		lane := p.put(min(left, textAt)-5, max(right, textAt+wide)+5)
		if d.c != nil {
			d.c.Begin("window", r.Name+": "+r.Says)
			d.arrow(from, to, d.y+laneHeight*(float64(lane)+0.5), looks[r.Status])
			d.label(label, ink.Pt(textAt, d.y+laneHeight*(float64(lane)+0.5)), wide, looks[r.Status])
			d.c.End()
		}
	}
	d.y += laneHeight * float64(len(p.ends))
}

func (d *chart) label(text string, at ink.Point, wide float64, l look) {
	d.c.Rect(ink.Box{At: at.Plus(ink.Pt(-3, -6)), Width: wide + 3, Height: 12}, ink.Paint{Fill: ink.White})
	d.c.Icon(l.icon, at.Plus(ink.Pt(0, -4)), 8, ink.Solid(l.colour, 1.6))
	d.c.Text(text, at.Plus(ink.Pt(12, 3.4)), smallType, ink.Black, ink.Start)
}

func (d *chart) arrow(from, to, y float64, l look) {
	d.c.Line(ink.Pt(from, y), ink.Pt(to, y), l.line)
	d.c.Line(ink.Pt(from, y-4), ink.Pt(from, y+4), ink.Solid(l.colour, 1.4))
	if math.Abs(to-from) < 1 {
		return
	}
	side := math.Copysign(7, to-from)
	d.c.Path().Polygon(ink.Pt(to, y), ink.Pt(to-side, y-3.4), ink.Pt(to-side, y+3.4)).Draw(ink.Paint{Fill: l.colour})
}

// legend explains the signs that occur.
func (d *chart) legend() {
	d.line(ink.Pt(0, d.y), ink.Pt(d.width, d.y), ink.Solid(ink.FadedLine, 0.8))
	x, y := 0.0, d.y+lineGap
	word := func(s string, room float64) {
		d.text(s, ink.Pt(x+room, y), smallType, ink.Black, ink.Start)
		x += room + smallType.Width(s) + 18
	}
	for s, used := range d.used() {
		if used {
			d.icon(looks[s], ink.Pt(x, y-8))
			word(Status(s).String(), 14)
		}
	}
	for _, kind := range []struct {
		p    piece
		name string
	}{
		{piece{edge: true, timed: true}, "edge measured"},
		{piece{edge: true}, "edge in its usual order"},
		{piece{open: true}, "no window tells when it ends"},
	} {
		if d.has(kind.p.stroke()) {
			d.line(ink.Pt(x, y-3), ink.Pt(x+18, y-3), kind.p.stroke())
			word(kind.name, 23)
		}
	}
	d.y += lineGap + 5
}

// used tells which verdicts have a sign on the page.
func (d *chart) used() (signs [len(statusNames)]bool) {
	for _, r := range d.r.Results {
		signs[r.Status] = true
	}
	for _, k := range d.marks {
		signs[Never] = signs[Never] || k.never
		signs[NotJudged] = signs[NotJudged] || k.stopped && !k.never
	}
	return signs
}

// has reports whether a row holds a piece of this stroke.
func (d *chart) has(s ink.Stroke) bool {
	for _, r := range d.rows {
		for _, p := range r.pieces {
			if p.stroke() == s {
				return true
			}
		}
	}
	return false
}

// notes writes what is wrong, what it means and the cautions.
func (d *chart) notes() {
	for _, n := range d.r.Notes() {
		text := n.Head
		for _, line := range n.Lines {
			text += " " + line
		}
		d.lines(smallType, ink.Black, 0, text)
		d.y += 1.5
	}
	if names := open(d.rows); len(names) > 0 {
		d.lines(smallType, ink.Black, 0, openText(names))
	}
	for _, n := range d.r.Profile.Notes {
		d.lines(smallType, ink.Black, 0, n)
	}
	for _, n := range d.r.Cautions {
		d.lines(smallType, ink.Black, 0, "Caution: "+n)
	}
}
