package bench

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/repair"
	"example.org/walkback/trace/suspects"
)

// job is a board that comes in.
type job struct {
	board string
	seed  uint64
	flaws []flaw
	leaks bool
	slip  float64
	file  *netlist.Board // as the program knows it, where that lacks something
}

// outcome is what became of a job.
type outcome struct {
	job
	verdict   string // the action named first
	kind      repair.Kind
	stated    float64 // share of it
	lead      suspects.Lead
	right     bool    // it mends one of the flaws, or says rightly that the file has none
	net       bool    // it names a net of the cause
	toVerdict float64 // min
	toRepair  float64 // min, wrong repairs and the last resort with it
	repairs   int
	gaveUp    bool
	probes    int
	cleared   string // a probe under a minute that would have cleared a chip
	said      []string
	refused   []string
	slips     int
}

const (
	mostProbes  = 60
	mostRepairs = 8
	fuseMinutes = 6.0
	lookMinutes = 0.3
)

// shopNarrowers holds what was simulated of a board, for one goroutine.
type shopNarrowers map[*netlist.Board]*suspects.Narrower

func (m shopNarrowers) of(b *netlist.Board) *suspects.Narrower {
	if m[b] == nil {
		m[b] = suspects.New(predict.New(b))
	}
	return m[b]
}

// work is a player at the bench: it tells the complaint, answers what it is asked by
// what a meter shows on the specimen, does what the verdict says, and goes on until the
// machine is right or nothing is left to do.
func work(t testing.TB, n *suspects.Narrower, b *netlist.Board, j job) (outcome, bool) {
	t.Helper()
	o := outcome{job: j, verdict: "none"}
	left := slices.Clone(j.flaws)
	s := newSpecimen(b, j.seed, j.leaks, left)
	s.switchTo(b.Usual(), false, true)
	said := complaint(s)
	if said == nil || s.unsteady {
		return o, false
	}
	session, err := New(n, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := &Dialogue{Session: session}
	h := &hand{rng: rand.New(rand.NewPCG(j.seed, 11)), slip: j.slip}
	h.gain = math.Max(-1, math.Min(1, h.rng.NormFloat64()/2))
	say := func(text string) bool {
		r := d.Do(text, 100)
		if !r.Step {
			o.refused = append(o.refused, text+": "+strings.Join(r.Lines, " "))
		}
		return r.Step
	}
	for _, text := range said {
		o.said = append(o.said, text)
		say(text)
	}
	minutes := lookMinutes
	judged := false
	var done []string
	for o.probes < mostProbes && o.repairs < mostRepairs {
		x := session.Step()
		if x.Kind == Ask {
			o.probes++
			minutes += x.Seconds / 60
			v := s.value(j.probe(b, x.Probe))
			text := h.typed(x.Probe, v)
			if h.last != "" {
				o.slips++
			}
			before := len(session.now.readings)
			if !say(text) && !say("s") {
				break
			}
			if len(session.now.readings) > before {
				o.said = append(o.said, session.now.readings[len(session.now.readings)-1].Text)
			}
			continue
		}
		if !judged {
			judged = true
			o.judge(b, session, s, left, minutes)
		}
		a, ok := acts(session, done)
		if !ok {
			break
		}
		done = append(done, a.Name)
		a = j.action(b, a)
		o.repairs++
		minutes += a.Minutes
		mended := mend(b, &a, &left)
		blown := map[string]bool{}
		for name := range s.blown {
			id, _ := b.Part(name)
			switch {
			case slices.Contains(a.Parts, id) && a.Kind != repair.Search:
			case mended:
				minutes += fuseMinutes
			default:
				blown[name] = true
			}
		}
		s = newSpecimen(b, j.seed, j.leaks, left)
		s.opens(blown)
		if s.well() {
			o.toRepair = minutes
			return o, true
		}
		minutes += lookMinutes
		if !say("r " + touched(b, &a, mended)) {
			continue
		}
		for _, text := range complaint(s) {
			say(text)
		}
	}
	o.gaveUp, o.toRepair = true, minutes+repair.GiveUp
	return o, true
}

// probe is a probe of the file that the program has, on the board as it is.
func (j *job) probe(b *netlist.Board, p netlist.Probe) netlist.Probe {
	if j.file == nil {
		return p
	}
	p.Net, p.Other = j.net(b, p.Net), j.net(b, p.Other)
	if p.Part != netlist.None {
		p.Part, _ = b.Part(j.file.Parts[p.Part].Name)
	}
	return p
}

func (j *job) net(b *netlist.Board, n netlist.NetID) netlist.NetID {
	if n == netlist.None {
		return n
	}
	id, _ := b.Net(j.file.Nets[n].Name)
	return id
}

// action is an action of the file that the program has, on the board as it is.
func (j *job) action(b *netlist.Board, a repair.Action) repair.Action {
	if j.file == nil {
		return a
	}
	a.Parts, a.Nets = slices.Clone(a.Parts), slices.Clone(a.Nets)
	for i := range a.Parts {
		a.Parts[i], _ = b.Part(j.file.Parts[a.Parts[i]].Name)
	}
	for i := range a.Nets {
		a.Nets[i] = j.net(b, a.Nets[i])
	}
	return a
}

// acts returns what the verdict says is to be done first, of what was not done yet.
func acts(s *Session, done []string) (repair.Action, bool) {
	for _, a := range s.now.report.Actions {
		if !slices.Contains(done, a.Name) && a.P > 0 {
			return a, true
		}
	}
	return repair.Action{}, false
}

// mend takes away what an action mends, and reports whether that was anything.
func mend(b *netlist.Board, a *repair.Action, left *[]flaw) bool {
	before := len(*left)
	*left = slices.DeleteFunc(slices.Clone(*left), func(f flaw) bool { return mends(b, a, f) })
	return len(*left) < before
}

// touched names what was done, as typed; of a search that found something the part alone.
func touched(b *netlist.Board, a *repair.Action, mended bool) string {
	var words []string
	for _, id := range a.Parts {
		words = append(words, b.Parts[id].Name)
	}
	if a.Kind == repair.Search && mended {
		return words[0]
	}
	return strings.Join(words, " ")
}

// judge notes the first verdict.
func (o *outcome) judge(b *netlist.Board, s *Session, at *specimen, left []flaw, minutes float64) {
	r := s.now.report
	o.toVerdict, o.lead = minutes, r.Leads()
	unlisted := !slices.ContainsFunc(left, func(f flaw) bool { return f.part != netlist.None && !o.missing(b, f) })
	switch {
	case o.lead == suspects.OtherLeads:
		o.verdict, o.stated, o.right = "not in the file", r.Other, unlisted
		return
	case len(r.Actions) == 0:
		return
	}
	first := o.action(b, r.Actions[0])
	a := &first
	o.verdict, o.stated, o.kind = a.Name, min(a.P, 1), a.Kind
	o.right = slices.ContainsFunc(left, func(f flaw) bool { return mends(b, a, f) })
	for _, f := range left {
		for _, n := range []netlist.NetID{f.net, f.to} {
			o.net = o.net || n != netlist.None && slices.Contains(a.Nets, n)
		}
		if n, ok := f.grounds(b); ok {
			o.net = o.net || slices.Contains(a.Nets, n)
		}
	}
	if a.Kind == repair.Rework && !o.right && o.file == nil {
		o.cleared = clearsChip(s, at, a)
	}
}

// missing reports whether the file that the program has lacks the part of a flaw.
func (o *outcome) missing(b *netlist.Board, f flaw) bool {
	if o.file == nil {
		return false
	}
	_, ok := o.file.Part(b.Parts[f.part].Name)
	return !ok
}

// clearsChip looks for a probe of less than a minute, with the board as it stands, that
// shows something else than the chip of an action would make.
func clearsChip(s *Session, at *specimen, a *repair.Action) string {
	fault := -1
	for _, x := range s.now.report.Suspects {
		if i := slices.IndexFunc(x.Faults, func(i int) bool {
			return slices.Contains(a.Parts, s.d.Faults[i].Faults[0].Part)
		}); i >= 0 {
			fault = x.Faults[i]
			break
		}
	}
	if fault < 0 {
		return ""
	}
	last := s.last(&s.now)
	for k, p := range s.d.Probes {
		if p.Cold() != last.Cold() || s.costs.Probe(s.x, p)+s.costs.Change(s.b, last, p) >= 60 || times(s.now.readings, p) > 0 || !s.x.Asks(p) {
			continue
		}
		want, have := s.d.Reads(k, fault), at.value(p)
		if math.IsInf(want, 0) || math.IsInf(have, 0) {
			continue
		}
		if math.Abs(want-have) > 3*predict.Apart(p.Method, math.Min(math.Abs(want), math.Abs(have))) {
			return s.b.SayPoint(p)
		}
	}
	return ""
}

var shopFiles = map[string]*netlist.Board{}

// shopBoard reads a board of the shop: a demo, or one of testdata.
func shopBoard(t testing.TB, name string) *netlist.Board {
	t.Helper()
	if shopFiles[name] == nil {
		if src, err := os.ReadFile("testdata/" + name + ".board"); err == nil {
			shopFiles[name] = boardtest.Build(t, string(src))
		} else {
			shopFiles[name] = boardtest.Demo(t, name)
		}
	}
	return shopFiles[name]
}
