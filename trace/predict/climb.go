package predict

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// Climb is the power-up order of a board under faults, or as far as observations
// tell.
type Climb struct {
	Board *netlist.Board
	State State
	Names []string // of the faults; empty when there are none
	Rungs []Rung
	Color bool // mark where the board stops by colour too
	Seen  []netlist.Observation
	Notes []string // of what was seen and means nothing in its state
	// Height is set when there are observations; Healthy reports whether the healthy
	// board agrees with them too.
	Height  *Height
	Healthy bool
	run     *Run
	base    *Run
}

// Climb finds how far a board gets.
func (p *Predictor) Climb(st State, seen []netlist.Observation, faults ...Fault) (*Climb, error) {
	if err := p.Contradiction(st); err != nil {
		return nil, err
	}
	c := &Climb{Board: p.Board, State: st, Seen: seen, base: p.Run(st, Hypothesis{}), run: p.Run(st, p.Suppose(faults...))}
	if c.run.s.failed {
		return nil, ErrUnsolved
	}
	for _, f := range faults {
		c.Names = append(c.Names, p.Name(f))
	}
	c.Rungs = p.Ladder(c.run)
	if len(seen) == 0 {
		return c, nil
	}
	h := p.HowFar(st, seen)
	c.Height = &h
	c.Healthy = !slices.ContainsFunc(seen, func(o netlist.Observation) bool { return !c.base.Fits(o) })
	return c, nil
}

// singles counts the single faults that agree with what was seen.
func (c *Climb) singles() int {
	if c.Healthy {
		return c.Height.Explained - 1
	}
	return c.Height.Explained
}

// status puts a rung into words: reached, stops here, not reached; or, as far as
// observations tell, surely reached, surely not, open.
func (c *Climb) status(i int) string {
	if h := c.Height; h != nil {
		switch {
		case h.Explained == 0:
			return "unknown"
		case h.Surely[i]:
			return "surely reached"
		case h.Never[i]:
			return "surely not"
		}
		return "open"
	}
	switch {
	case c.Rungs[i].Reached:
		return "reached"
	case Stops(c.Rungs) == i:
		return "stops here"
	}
	return "not reached"
}

// missing tells what of a stage is not as on the healthy board.
func (c *Climb) missing(i int) string {
	if c.Height != nil {
		return ""
	}
	var words []string
	for _, t := range c.Rungs[i].Missing {
		name := c.Board.TargetName(t)
		switch {
		case t.Fact >= 0:
			words = append(words, name+" no")
		case t.Lane >= 0:
			words = append(words, name+" quiet")
		default:
			now, was := c.run.volts(t.Net), c.base.volts(t.Net)
			if now.Alike(was) {
				now, was = c.run.activity(t.Net), c.base.activity(t.Net)
			}
			words = append(words, fmt.Sprintf("%s %s, not %s", name, now, was))
		}
	}
	return strings.Join(words, "; ")
}

// WriteText prints the power-up order with what is reached.
func (c *Climb) WriteText(out io.Writer) error {
	o := say.NewWriter(out)
	b := c.Board
	b.WriteHead(o)
	o.Beside("state     ", c.State.Text(b))
	if len(c.Names) > 0 {
		o.Beside("fault     ", strings.Join(c.Names, ", "))
	}
	if len(c.Seen) > 0 {
		o.Beside("seen      ", strings.Join(c.seenWords(), ", "))
	}
	for _, text := range c.Notes {
		fmt.Fprintln(o)
		o.Beside("", text)
	}
	if len(b.Stages) == 0 {
		fmt.Fprintln(o, "\nThe board file has no stages.")
		return o.Flush()
	}
	fmt.Fprintln(o, "\nPower-up order")
	rows := [][]cell{}
	for i, st := range b.Stages {
		status := c.status(i)
		rows = append(rows, []cell{{text: fmt.Sprintf("%3d", st.Number)}, {text: status, differs: c.Height == nil && Stops(c.Rungs) == i},
			{text: st.Words}, {text: strings.Join(c.targets(i), " ")}})
	}
	writeTable(o, &say.Table{Words: []int{2, 3}}, rows, c.Color)
	if stop := Stops(c.Rungs); stop >= 0 && c.Height == nil {
		fmt.Fprintln(o)
		o.Beside("", fmt.Sprintf("Stops at stage %d, %s:", b.Stages[stop].Number, b.Stages[stop].Words))
		o.Beside("  ", c.missing(stop))
	}
	if c.Height != nil {
		fmt.Fprintln(o)
		o.Beside("", c.verdict())
	}
	return o.Flush()
}

func (c *Climb) verdict() string {
	var text string
	switch n := c.singles(); {
	case n == 0 && !c.Healthy:
		return "No single fault agrees with all of this: look for two faults, for a wrong reading, or for a cause that is not in the file."
	case n == 1:
		text = "1 single fault agrees with all of this"
	default:
		text = fmt.Sprintf("%d single faults agree with all of this", n)
	}
	if c.Healthy {
		text += ", and so does the healthy board"
	}
	return text + ". Surely: all of them say so; open: some do, some do not."
}

func (c *Climb) seenWords() []string {
	words := make([]string, len(c.Seen))
	for i, o := range c.Seen {
		words[i] = c.Board.ObservationText(o)
	}
	return words
}

func (c *Climb) targets(i int) []string {
	var names []string
	for _, t := range c.Board.Stages[i].Targets {
		names = append(names, c.Board.TargetName(t))
	}
	return names
}
