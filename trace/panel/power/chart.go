package power

import (
	"fmt"
	"math"
	"strings"

	"example.org/walkback/trace/draw/ink"
)

var (
	nameType  = ink.Bold(11)
	valueType = ink.Bold(9.5)
	edgeSeen  = ink.Solid(ink.Black, 2.6)
	edgeUsual = ink.Dashed(ink.Black, 1.8, "3 2.4")
)

// Sizes in user units.
const (
	margin       = 30.0 // 8 mm, which every office printer can reach
	labelWidth   = 140.0
	signalHeight = 27.0
	waveHeight   = 15.0
	windowHeight = 16.0
	lineGap      = 14.3
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

// chart is a drawing in progress, from y downwards.
type chart struct {
	c     *ink.Canvas
	r     Report
	marks []mark
	edges [signalCount][]mark // what is drawn of each signal
	width float64
	y     float64
}

// Chart draws the report as a timing chart on a page of A4, landscape, at the greatest
// scale at which it fits.
func Chart(r Report) ink.Picture {
	page := ink.Sheet(297, 210)
	for scale := 1.0; ; scale *= 0.96 {
		c := &ink.Canvas{Scale: scale, Move: ink.Pt(margin, margin)}
		d := &chart{c: c, r: r, marks: schedule(&r.Profile, &r.Measured), width: (page.Width - 2*margin) / scale}
		d.draw()
		if d.y <= (page.Height-2*margin)/scale || scale < 0.2 {
			return c.Picture(r.Profile.Title, r.Verdict, page)
		}
	}
}

func (d *chart) draw() {
	for s := range signalCount {
		d.edges[s] = edgesOf(s, d.marks)
	}
	d.lines(ink.Title, ink.Black, d.r.Profile.Title)
	d.lines(ink.Body, ink.Soft, d.r.Verdict+". The axis is not to scale: events stand in their order.")
	d.y += 4
	d.times()
	d.waves()
	d.y += 7
	for i := range d.r.Results {
		d.window(&d.r.Results[i])
	}
	d.y += 8
	d.legend()
	d.notes()
}

// lines writes text from y downwards, broken at the width.
func (d *chart) lines(t ink.Typeface, colour, text string) {
	for _, line := range t.Wrap(ink.Clean(text), d.width, 8) {
		d.y += t.LineHeight()
		d.c.Text(line, ink.Pt(0, d.y-3), t, colour, ink.Start)
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

// times writes when each event came, in two lines by turns, and draws a thin line
// at every event through all that follows.
func (d *chart) times() {
	rows := float64(len(d.r.Results)) * windowHeight
	for _, edges := range d.edges {
		rows += signalHeight * float64(min(1, len(edges)))
	}
	top, turn := d.y+2*lineGap, 0
	for _, k := range d.marks {
		style := ink.Dashed(ink.FadedLine, 0.7, "1.5 3")
		if k.timed {
			style = ink.Solid("#8c8c8c", 0.7)
		}
		d.c.Line(ink.Pt(d.x(k.x), top), ink.Pt(d.x(k.x), top+rows+7), style)
		if text := k.when(); k.timed || k.never {
			x := min(d.x(k.x), d.width-valueType.Width(text)/2)
			d.c.Text(text, ink.Pt(x, top-3-lineGap*float64(turn%2)), valueType, ink.Black, ink.Middle)
			turn++
		}
	}
	d.y = top
}

// endOf names the events with which a signal ends that no window has a say in: the
// first of them that comes.
var endOf = map[Signal][]Event{HPD: {SupplyOff}, AUX: {SupplyOff}, Link: {DataOff, SupplyOff}}

// edgesOf lists the edges of a signal, with an end for what has none of its own.
func edgesOf(s Signal, marks []mark) []mark {
	var edges []mark
	for _, k := range marks {
		if k.Signal() == s {
			edges = append(edges, k)
		}
	}
	for _, e := range endOf[s] {
		for _, k := range marks {
			if k.Event == e && !k.stopped && len(edges) > 0 {
				k.timed = false // what is seen elsewhere
				return append(edges, k)
			}
		}
	}
	return edges
}

// waves draws one row for each signal of the profile.
func (d *chart) waves() {
	for s, edges := range d.edges {
		if len(edges) == 0 {
			continue
		}
		d.y += signalHeight
		name := Signal(s).String()
		d.c.Text(name, ink.Pt(0, d.y-8), nameType, ink.Black, ink.Start)
		d.c.Begin("signal", name)
		d.wave(edges, d.y-5)
		d.c.End()
	}
}

// wave draws the level of a signal. One that begins with the way down was high, unless it
// failed to start; after what never came it stays where it is, with a sign there, and a
// supply that does not come to the end of its slope hangs between.
func (d *chart) wave(edges []mark, base float64) {
	x, level := d.x(0), 0.0
	if !events[edges[0].Event].rising && !edges[0].stopped {
		level = 1
	}
	draw := func(toX, to float64, s ink.Stroke) {
		d.c.Line(ink.Pt(x, base-waveHeight*level), ink.Pt(toX, base-waveHeight*to), s)
		x, level = toX, to
	}
	flat := ink.Solid(ink.Black, 1.8)
	for i, k := range edges {
		to := 0.0
		if events[k.Event].rising {
			to = 1
		}
		if k.stopped {
			sign := looks[NotJudged]
			if k.never {
				sign = looks[Never]
			}
			d.c.Icon(sign.icon, ink.Pt(d.x(k.x)-4.5, base-12), 9, ink.Solid(sign.colour, 1.8))
			continue
		}
		if level == to {
			continue // the other end of a slope, or no edge from where the signal is
		}
		end := d.x(k.x)
		if slope := i+1 < len(edges) && ramp(k.Event, edges[i+1].Event); slope && edges[i+1].stopped {
			to = 0.5
		} else if slope {
			end = d.x(edges[i+1].x)
		}
		draw(d.x(k.x), level, flat)
		stroke := edgeUsual
		if k.timed {
			stroke = edgeSeen
		}
		draw(end, to, stroke)
	}
	draw(d.x(1), level, flat)
}

// window draws one as an arrow from event to event, with what is wanted before it, and
// what was measured beside it.
func (d *chart) window(r *Result) {
	l := looks[r.Status]
	y := d.y + windowHeight/2
	d.y += windowHeight
	d.c.Begin("window", r.Name+": "+r.Says)
	defer d.c.End()
	d.c.Text(r.Name, ink.Pt(0, y+3.4), valueType, ink.Black, ink.Start)
	d.c.Text(fmt.Sprint(r.Span), ink.Pt(28, y+3.4), ink.Small, ink.Black, ink.Start)
	from, to := d.xOf(r.From), d.xOf(r.To)
	d.c.Line(ink.Pt(from, y), ink.Pt(to, y), l.line)
	d.c.Line(ink.Pt(from, y-4), ink.Pt(from, y+4), ink.Solid(l.colour, 1.4))
	if math.Abs(to-from) >= 1 {
		side := math.Copysign(7, to-from)
		d.c.Path().Polygon(ink.Pt(to, y), ink.Pt(to-side, y-3.4), ink.Pt(to-side, y+3.4)).Draw(ink.Paint{Fill: l.colour})
	}
	if r.Status == NotMeasured {
		return
	}
	text := r.short()
	wide := ink.Small.Width(text) + 18
	x := max(from, to) + 6
	if x+wide > d.width {
		x = min(from, to) - wide - 6
	}
	if x < labelWidth {
		x = (from + to - wide) / 2
	}
	d.c.Rect(ink.Box{At: ink.Pt(x-2, y-6), Width: wide, Height: 12}, ink.Paint{Fill: ink.White})
	d.c.Icon(l.icon, ink.Pt(x, y-4), 8, ink.Solid(l.colour, 1.6))
	d.c.Text(text, ink.Pt(x+12, y+3.4), ink.Small, ink.Black, ink.Start)
}

// legend explains the two kinds of edges, and the signs that occur.
func (d *chart) legend() {
	d.c.Line(ink.Pt(0, d.y), ink.Pt(d.width, d.y), ink.Solid(ink.FadedLine, 0.8))
	d.y += lineGap
	x := 0.0
	word := func(s string, room float64) {
		d.c.Text(s, ink.Pt(x+room, d.y), ink.Small, ink.Black, ink.Start)
		x += room + ink.Small.Width(s) + 18
	}
	d.c.Line(ink.Pt(x, d.y-3), ink.Pt(x+18, d.y-3), edgeSeen)
	word("edge measured", 23)
	d.c.Line(ink.Pt(x, d.y-3), ink.Pt(x+18, d.y-3), edgeUsual)
	word("edge in its usual order", 23)
	var used [len(looks)]bool
	for _, r := range d.r.Results {
		used[r.Status] = true
	}
	for _, k := range d.marks {
		used[Never] = used[Never] || k.never
		used[NotJudged] = used[NotJudged] || k.stopped && !k.never
	}
	for s, l := range looks {
		if used[s] {
			d.c.Icon(l.icon, ink.Pt(x, d.y-8), 9, ink.Solid(l.colour, 1.8))
			word(Status(s).String(), 14)
		}
	}
	d.y += 5
}

// notes writes what is wrong, what it means and the cautions.
func (d *chart) notes() {
	for _, n := range d.r.Notes() {
		d.lines(ink.Small, ink.Black, strings.Join(append([]string{n.Head}, n.Lines...), " "))
		d.y += 1.5
	}
	for _, n := range d.r.Profile.Notes {
		d.lines(ink.Small, ink.Black, n)
	}
	for _, n := range d.r.Cautions {
		d.lines(ink.Small, ink.Black, "Caution: "+n)
	}
}
