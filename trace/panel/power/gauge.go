package power

import (
	"fmt"
	"strings"

	"example.org/walkback/trace/draw/ink"
)

// Columns of the table of gauges.
const (
	gaugeName  = 34.0
	gaugeFrom  = 232.0
	gaugeWant  = 96.0
	gaugeWidth = 260.0
)

// gauges draws one line a window: what is wanted as a bar, what was measured as a
// sign on it and in words. Each bar has a scale of its own.
func (d *chart) gauges() {
	for i := range d.r.Results {
		r := &d.r.Results[i]
		base := d.y + gaugeRow - 5
		d.text(r.Name, ink.Pt(0, base), nameType, ink.Black, ink.Start)
		d.text(smallType.Fit(r.From.String()+" → "+r.To.String(), gaugeFrom-6), ink.Pt(gaugeName, base), smallType, ink.Black, ink.Start)
		d.text(fmt.Sprint(r.Span), ink.Pt(gaugeName+gaugeFrom, base), smallType, ink.Black, ink.Start)
		if d.c != nil {
			d.c.Begin("gauge", r.Name+": "+r.Says)
			d.gauge(r, gaugeName+gaugeFrom+gaugeWant, base)
			d.c.End()
		}
		x := gaugeName + gaugeFrom + gaugeWant + gaugeWidth + 14
		if r.Status != NotMeasured {
			if d.c != nil {
				d.c.Icon(r.look().icon, ink.Pt(x, base-8), 9, ink.Solid(r.look().colour, 1.8))
			}
			d.text(valueType.Fit(r.short(), d.width-x-14), ink.Pt(x+14, base), valueType, ink.Black, ink.Start)
		} else {
			d.text(r.short(), ink.Pt(x+14, base), smallType, ink.Faded, ink.Start)
		}
		d.y += gaugeRow
	}
}

// gauge draws the bar of one window from x on.
func (d *chart) gauge(r *Result, x, base float64) {
	lo, hi := r.scale()
	at := func(t Time) float64 {
		return x + gaugeWidth*float64(t-lo)/float64(hi-lo)
	}
	y := base - 3.5
	d.c.Line(ink.Pt(x, y), ink.Pt(x+gaugeWidth, y), ink.Solid(ink.FadedLine, 1))
	end := x + gaugeWidth
	if r.Max != Unlimited {
		end = at(r.Max)
	}
	bar := ink.Box{At: ink.Pt(at(r.Min), y-4), Width: max(end-at(r.Min), 1), Height: 8}
	d.c.Rect(bar, ink.Paint{Fill: "#e3e3e3"})
	d.c.Line(ink.Pt(at(r.Min), y-5.5), ink.Pt(at(r.Min), y+5.5), ink.Solid(ink.Black, 1.4))
	if r.Max != Unlimited {
		d.c.Line(ink.Pt(end, y-5.5), ink.Pt(end, y+5.5), ink.Solid(ink.Black, 1.4))
	} else {
		d.c.Path().Line(ink.Pt(end-5, y-5), ink.Pt(end, y), ink.Pt(end-5, y+5)).Draw(ink.Paint{Line: ink.Solid(ink.Black, 1.4)})
	}
	if r.Value == nil {
		return
	}
	l := r.look()
	if r.Value.Min != r.Value.Max {
		d.c.Line(ink.Pt(at(r.Value.Min), y), ink.Pt(at(r.Value.Max), y), ink.Solid(l.colour, 3))
	}
	mid := (at(r.Value.Min) + at(r.Value.Max)) / 2
	d.c.Circle(ink.Pt(mid, y), 5.6, ink.Paint{Fill: ink.White, Line: ink.Solid(l.colour, 1.6)})
	d.c.Icon(l.icon, ink.Pt(mid-3, y-3), 6, ink.Solid(l.colour, 1.6))
}

// scale returns the ends of a gauge: zero, the window and the value lie on it.
func (r *Result) scale() (lo, hi Time) {
	hi = max(r.Min*2, Millisecond)
	if r.Max != Unlimited {
		hi = max(r.Max, 1)
	}
	if r.Value != nil {
		lo, hi = min(r.Value.Min, 0), max(hi, r.Value.Max)
	}
	room := (hi - lo) / 8
	return lo - room, hi + room
}

// used tells which verdicts have a sign on the page, and whether a window is
// contradicted.
func (d *chart) used() (signs [len(statusNames)]bool, clash bool) {
	for _, r := range d.r.Results {
		signs[r.Status] = signs[r.Status] || !r.Contradicted
		clash = clash || r.Contradicted
	}
	for _, k := range d.marks {
		signs[Never] = signs[Never] || k.never
		signs[NotJudged] = signs[NotJudged] || k.stopped && !k.never
	}
	return signs, clash
}

// legend explains the signs that occur.
func (d *chart) legend() {
	used, clash := d.used()
	d.line(ink.Pt(0, d.y), ink.Pt(d.width, d.y), ink.Solid(ink.FadedLine, 0.8))
	x, y := 0.0, d.y+lineGap
	word := func(s string, room float64) {
		d.text(s, ink.Pt(x+room, y), smallType, ink.Black, ink.Start)
		x += room + smallType.Width(s) + 18
	}
	sign := func(l look, name string) {
		if d.c != nil {
			d.c.Icon(l.icon, ink.Pt(x, y-8), 9, ink.Solid(l.colour, 1.8))
		}
		word(name, 14)
	}
	for s, l := range looks {
		if used[s] {
			sign(l, Status(s).String())
		}
	}
	if clash {
		sign(clashLook, "contradicted")
	}
	for _, measured := range []bool{true, false} {
		if d.edges[measured] {
			d.line(ink.Pt(x, y-3), ink.Pt(x+18, y-3), edgeStroke(measured))
			word(map[bool]string{true: "edge measured", false: "edge where it usually comes"}[measured], 23)
		}
	}
	if d.c != nil {
		d.c.Rect(ink.Box{At: ink.Pt(x, y-8), Width: 18, Height: 8}, ink.Paint{Fill: "#e3e3e3"})
	}
	word("what the panel wants", 23)
	d.y += lineGap + 5
}

// notes writes what is wrong, what it means and the cautions.
func (d *chart) notes() {
	note := func(name, text string) {
		y := d.y
		d.lines(smallType, ink.Black, gaugeName, text)
		d.text(name, ink.Pt(0, y+smallType.LineHeight()-3), valueType, ink.Black, ink.Start)
		d.y += 1.5
	}
	for _, r := range d.r.Results {
		if !r.Status.Wrong() {
			continue
		}
		var look []string
		for _, l := range r.Look {
			look = append(look, string(l))
		}
		note(r.Name, r.Says+". It means ("+r.Basis+"): "+r.Means+". Look at: "+strings.Join(look, "; ")+".")
	}
	for _, c := range d.r.Chains {
		note("Order", c.Says+".")
	}
	for _, n := range d.r.Contradictions {
		note("Clash", n+".")
	}
	for _, m := range d.r.Missing {
		for _, t := range m.Though {
			note("Order", t.Says+". It means ("+t.Basis+"): "+t.Means+".")
		}
		text := m.Event.String() + " waits for " + m.WaitsFor + "."
		if m.Means != "" {
			text += " It means (" + m.Basis + "): " + m.Means + "."
		}
		note("Wait", text)
	}
	for _, n := range d.r.Profile.Notes {
		note("Note", n)
	}
	for _, n := range d.r.Cautions {
		note("Care", n)
	}
}
