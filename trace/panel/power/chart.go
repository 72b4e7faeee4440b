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
	titleType = ink.Bold(19)
	textType  = ink.Regular(11.5)
	nameType  = ink.Bold(11)
	smallType = ink.Regular(9.5)
	valueType = ink.Bold(9.5)
)

// Sizes in user units.
const (
	margin     = 30.0 // 8 mm, which every office printer can reach
	labelWidth = 118.0
	rowHeight  = 27.0
	waveHeight = 15.0
	laneHeight = 15.0
	gaugeRow   = 16.5
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

// clashLook is that of a window of which other times say something else, whatever its
// verdict.
var clashLook = look{ink.Vermillion, ink.Dashed(ink.Vermillion, 2.6, "6 2"), "M5 0.5L5 6M5 8.2L5 9.5"}

func (r *Result) look() look {
	if r.Contradicted {
		return clashLook
	}
	return looks[r.Status]
}

// chart is a drawing in progress. With a nil canvas it only measures.
type chart struct {
	c     *ink.Canvas
	r     Report
	marks []mark
	width float64
	y     float64
	edges map[bool]bool // which kinds of edge were drawn: measured, or where they usually come
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
	return &chart{c: c, r: r, edges: map[bool]bool{}, marks: schedule(&r.Profile, &r.Measured), width: width}
}

// draw draws all of it and returns the height used.
func (d *chart) draw() float64 {
	d.lines(titleType, ink.Black, 0, ink.Clean(d.r.Profile.Title))
	d.lines(textType, ink.Soft, 0, d.r.Verdict+". The axis is not to scale: a gap has room by the logarithm of its length, so that 1 ms and 500 ms can both be seen.")
	d.y += 4
	d.eventLabels()
	d.guides()
	d.waves()
	d.lanes()
	d.y += 8
	d.gauges()
	d.y += 4
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

// x is where an event stands on the axis.
func (d *chart) x(k mark) float64 { return labelWidth + k.x*(d.width-labelWidth) }

func (d *chart) xOf(e Event) float64 {
	for _, k := range d.marks {
		if k.Event == e {
			return d.x(k)
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

// eventLabels writes when each event came above its line.
func (d *chart) eventLabels() {
	type label struct {
		text string
		x    float64
		lane int
		kind ink.Typeface
	}
	var list []label
	var p packer
	for _, k := range d.marks {
		if !k.timed && !k.never {
			continue
		}
		l := label{text: k.at.String(), x: d.x(k), kind: valueType}
		if k.never {
			l.text = "never"
		}
		half := l.kind.Width(l.text)/2 + 4
		l.x = min(l.x, d.width-half)
		l.lane = p.put(l.x-half, l.x+half)
		list = append(list, l)
	}
	for _, l := range list {
		d.text(l.text, ink.Pt(l.x, d.y+lineGap*float64(len(p.ends)-l.lane)-3), l.kind, ink.Black, ink.Middle)
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
		if k.measured && !k.stopped {
			style = ink.Solid("#8c8c8c", 0.7)
		}
		d.line(ink.Pt(d.x(k), d.y), ink.Pt(d.x(k), end.y), style)
	}
}

// waves draws one row a signal.
func (d *chart) waves() {
	gap := 0.0
	if i := pause(d.marks); i > 0 {
		gap = (d.x(d.marks[i-1]) + d.x(d.marks[i])) / 2
	}
	for _, r := range rows(d.marks) {
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

// wave draws the level of a signal: solid up to an edge that was measured, dashed
// edges where it usually comes.
func (d *chart) wave(r *row, base float64) {
	level := func(high bool) float64 {
		if high {
			return base - waveHeight
		}
		return base
	}
	stroke := ink.Solid(ink.Black, 1.8)
	x, y := labelWidth, level(r.startsHigh())
	for i, k := range r.edges {
		at, to := d.x(k), level(events[k.Event].rising)
		if k.stopped {
			d.stopSign(k, ink.Pt(at, base))
			continue
		}
		if i > 0 && ramp(r.edges[i-1].Event, k.Event) || y == to {
			continue // drawn with the slope that it ends, or no edge from where the signal is
		}
		d.c.Line(ink.Pt(x, y), ink.Pt(at, y), stroke)
		end := at
		if i+1 < len(r.edges) && ramp(k.Event, r.edges[i+1].Event) {
			end = d.x(r.edges[i+1])
		}
		if r.halts(i) {
			to = base - waveHeight/2
		}
		d.c.Line(ink.Pt(at, y), ink.Pt(end, to), d.edgeStroke(k.measured))
		x, y = end, to
		if r.halts(i) && events[k.Event].rising {
			d.c.Line(ink.Pt(end, to), ink.Pt(end, base), d.edgeStroke(false))
			y = base
		}
	}
	d.c.Line(ink.Pt(x, y), ink.Pt(d.width, y), stroke)
}

// stopSign stands on the line of a signal where an edge did not come: the sign of
// never, or that of what cannot be judged without it.
func (d *chart) stopSign(k mark, at ink.Point) {
	l, width := looks[NotJudged], 1.4
	if k.never {
		l, width = looks[Never], 2
	}
	d.c.Icon(l.icon, ink.Pt(at.X-5, at.Y-12), 10, ink.Solid(l.colour, width))
}

// edgeStroke is edgeStroke, and the legend will explain it.
func (d *chart) edgeStroke(measured bool) ink.Stroke {
	d.edges[measured] = true
	return edgeStroke(measured)
}

func edgeStroke(measured bool) ink.Stroke {
	if measured {
		return ink.Solid(ink.Black, 2.6)
	}
	return ink.Dashed(ink.Black, 1.8, "3 2.4")
}

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
		y := d.y + laneHeight*(float64(lane)+0.5)
		if d.c != nil {
			d.c.Begin("window", r.Name+": "+r.Says)
			d.arrow(from, to, y, r.look())
			d.c.Rect(ink.Box{At: ink.Pt(textAt-3, y-6), Width: wide + 3, Height: 12}, ink.Paint{Fill: ink.White})
			d.c.Icon(r.look().icon, ink.Pt(textAt, y-4), 8, ink.Solid(r.look().colour, 1.6))
			d.c.Text(label, ink.Pt(textAt+12, y+3.4), smallType, ink.Black, ink.Start)
			d.c.End()
		}
	}
	d.y += laneHeight * float64(len(p.ends))
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
