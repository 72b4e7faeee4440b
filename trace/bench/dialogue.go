package bench

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
)

// mostLine bounds an answer in bytes.
const mostLine = 1 << 20

// Dialogue turns lines of text into steps of a session.
type Dialogue struct {
	*Session
	// Draw writes the picture of a walk and returns where; it may be nil.
	Draw func(*trace.Walk) (string, error)
	// Saved names the case file.
	Saved string
}

// Result is what a line led to.
type Result struct {
	Lines []string // to show
	Step  bool     // there is a new step
	End   bool
}

const help = `An answer is what the meter shows, in the unit of the probe: 12.2, 40k, 0.1, OL; q quiet, t it toggles, f floats; y or n.
Any reading in full does too: VBL=12V@lid=shut, L4=OL, EDID=unread; or the name of a symptom.
  u  undo the last answer          l  suspects with reasons
  s  skip: cannot reach it         o  other probes; o 2 takes one
     (s scope: there is none)      d  draw the walk
  w  why this probe                r  repaired: r C34, or r C34:short
  g  go on after a verdict         x  exit, all is saved`

// commands are the letters and the words for them.
var commands = map[string]string{
	"u": "undo", "s": "skip", "w": "why", "l": "list", "d": "draw", "o": "others", "r": "repaired", "g": "go", "x": "exit", "?": "help",
	"undo": "undo", "skip": "skip", "why": "why", "list": "list", "draw": "draw", "others": "others", "repaired": "repaired", "go": "go",
	"exit": "exit", "quit": "exit", "help": "help",
}

// Do takes one line. A wrong one loses nothing, and the message says what is
// expected.
func (d *Dialogue) Do(text string, width int) Result {
	text = strings.TrimSpace(text)
	word, rest, _ := strings.Cut(text, " ")
	rest = strings.TrimSpace(rest)
	o := &page{width: width}
	done := func(err error, message string) Result {
		if err != nil {
			for line := range strings.Lines(told(err)) {
				o.line("! " + strings.TrimRight(line, "\n"))
			}
			return Result{Lines: o.lines}
		}
		if message != "" {
			o.line(message)
		}
		return Result{Lines: o.lines, Step: true}
	}
	switch commands[strings.ToLower(word)] {
	case "undo":
		if err := d.undoesSymptom(rest); err != nil {
			return done(err, "")
		}
		e, err := d.Undo()
		return done(err, "taken back: "+e.String())
	case "skip":
		err := d.Skip(rest)
		return done(err, "it is not asked for again")
	case "go":
		return done(d.More(), "")
	case "repaired":
		before := d.now
		err := d.Repaired(rest)
		if err == nil {
			d.writeOpened(o, &before)
		}
		return done(err, "repaired; now what shows that it helped")
	case "others":
		if rest == "" {
			d.writeOthers(o)
			return Result{Lines: o.lines}
		}
		n, err := strconv.Atoi(rest)
		if err != nil {
			n = 0
		}
		return done(d.Choose(n), "")
	case "why":
		d.writeWhy(o)
	case "list":
		d.writeSuspects(o, 8)
	case "draw":
		d.draw(o)
	case "help":
		o.lines = strings.Split(help, "\n")
	case "exit":
		o.line("saved in " + d.Saved)
		return Result{Lines: o.lines, End: true}
	default:
		if text == "" {
			return Result{Step: true}
		}
		if d.b.Symptom(text) >= 0 {
			return done(d.Symptom(text), "")
		}
		err := d.Answer(text)
		if k := len(d.now.readings) - 1; err == nil {
			o.hang(d.now.readings[k].Text+"  ", d.now.report.Standing(k))
		}
		return done(err, "")
	}
	return Result{Lines: o.lines}
}

// Walk walks back from what was read to the sources, where that is known.
func (s *Session) Walk() (*trace.Walk, error) {
	usual := s.b.Usual()
	var seen []netlist.Observation
	for i := range s.now.readings {
		r := &s.now.readings[i]
		hot := !r.Probe.Cold()
		if len(r.Or) > 0 || hot && (r.Probe.State.Unplugged || r.Probe.State.Setting.Distance(usual) > 0) {
			continue // a walk begins at one point, and is of one state
		}
		// What cannot be judged says nothing of where to walk.
		if o, err := s.b.Judge(*r, s.m.HealthyBand); err == nil {
			seen = append(seen, o)
		}
	}
	// The last reading of a point is what is known of it.
	var kept []netlist.Observation
	for i, o := range seen {
		later := false
		for _, x := range seen[i+1:] {
			later = later || trace.SamePoint(x, o)
		}
		if !later {
			kept = append(kept, o)
		}
	}
	return trace.Run(s.b, usual, kept)
}

func (d *Dialogue) draw(o *page) {
	w, err := d.Walk()
	switch {
	case errors.Is(err, trace.ErrNoSymptom):
		o.line("Nothing is wrong yet from which a walk could begin.")
		return
	case err != nil:
		o.line("! " + err.Error())
		return
	case d.Draw == nil:
		o.line("! there is no place for a picture")
		return
	}
	name, err := d.Draw(w)
	if err != nil {
		o.line("! " + err.Error())
		return
	}
	o.line("the walk with what is known is drawn in " + name)
}

// writeHead says what the case is.
func (d *Dialogue) writeHead(o *page) {
	o.hang(d.b.Name+"  ", d.b.Title)
	if text := d.b.PanelText(); text != "" {
		o.hang("panel  ", text)
	}
	if words := netlist.HistoryTexts(d.now.history); len(words) > 0 {
		o.hang("history  ", strings.Join(words, "; "))
	}
	o.hang("case file  ", d.Saved)
	for i := range d.now.readings {
		o.hang("  read  "+d.now.readings[i].Text+"  ", d.now.report.Standing(i))
	}
}

// linesWidth is how long the lines of a dialogue in lines get, in columns.
const linesWidth = 100

// first is what a dialogue in lines begins with.
func (d *Dialogue) first() *page {
	o := &page{width: linesWidth}
	d.writeHead(o)
	d.writeAll(o)
	return o
}

// Show writes where a case stands.
func (d *Dialogue) Show(out io.Writer) error {
	_, err := io.WriteString(out, strings.Join(d.first().lines, "\n")+"\n")
	return err
}

// Run reads lines and answers them, until the input ends or x. When the context
// ends it does not wait for the line.
func (d *Dialogue) Run(ctx context.Context, in io.Reader, out io.Writer) error {
	o := d.first()
	lines := make(chan string)
	ended := make(chan error, 1)
	go func() {
		scan := bufio.NewScanner(in)
		scan.Buffer(nil, mostLine)
		for scan.Scan() {
			select {
			case lines <- scan.Text():
			case <-ctx.Done():
				return
			}
		}
		err := scan.Err()
		if errors.Is(err, bufio.ErrTooLong) {
			err = fmt.Errorf("an answer of more than %d MB is no answer; what was answered before is saved", mostLine>>20)
		}
		ended <- err
	}()
	for {
		if _, err := io.WriteString(out, strings.Join(o.lines, "\n")+"\n> "); err != nil {
			return err
		}
		var text string
		select {
		case text = <-lines:
		case err := <-ended:
			return errors.Join(err, d.bye(out))
		case <-ctx.Done():
			return d.bye(out)
		}
		r := d.Do(text, linesWidth)
		o = &page{width: linesWidth, lines: r.Lines}
		if r.End {
			_, err := io.WriteString(out, strings.Join(o.lines, "\n")+"\n")
			return err
		}
		if r.Step {
			d.writeAll(o)
		}
	}
}

// bye says where all is, when the input ends without x.
func (d *Dialogue) bye(out io.Writer) error {
	_, err := fmt.Fprintln(out, "\nsaved in "+d.Saved)
	return err
}

// writeAll writes the suspects in short and the step.
func (d *Dialogue) writeAll(o *page) {
	o.hang("suspects  ", d.lead())
	o.lines = append(o.lines, "")
	d.writeStep(o)
}

// told puts an error into lines: of a mistake what was typed too, with carets under
// the letters in question.
func told(err error) string {
	var m mistake.Mistake
	if errors.As(err, &m) {
		return strings.TrimRight(m.Report(), "\n")
	}
	lines := strings.Split(err.Error(), "\n")
	for i := range lines {
		lines[i] = strings.TrimSpace(lines[i])
	}
	return strings.Join(lines, "\n")
}
