package bench

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/probe"
	"github.com/google/go-cmp/cmp"
)

// TestStories follows a complaint to the verdict, the repair and its confirmation,
// with true answers. What a board with the fault shows comes from the simulation.
func TestStories(t *testing.T) {
	for _, c := range []struct{ board, symptom, fault string }{
		{"larkspur13", "dark", "R34:open"},
		{"larkspur13", "fuse", "C34:short"},
		{"larkspur13", "unknown", "FB2:open"},
		{"larkspur13", "lid", "C11:short"},
		{"siskin15", "dark", "L4:open"},
		{"siskin15", "stuck", "U8.GPU_SEL:stuck-high"},
		{"teasel14", "dark", "Q5:open"},
		{"teasel14", "fuse", "F3:open"},
	} {
		t.Run(c.board+"/"+c.fault, func(t *testing.T) {
			s := session(t, c.board)
			must(t, s, "symptom "+c.symptom)
			i := fault(t, s, c.fault)
			if n, found := play(t, s, i); !found {
				t.Fatalf("not named after %d answers: %s", n, s.lead())
			}
			text := strings.Join(verdictLines(s), "\n")
			part := &s.b.Parts[s.d.Faults[i].Faults[0].Part]
			if !strings.HasPrefix(text, "Verdict  ") || !strings.Contains(text, part.Name) || !strings.Contains(text, "second proof") {
				t.Errorf("the verdict is\n%s", text)
			}
			must(t, s, "r "+part.Name)
			confirm(t, s, -1)
			if s.Step().Kind != Confirmed || s.Unchecked() > 0 {
				t.Errorf("not confirmed: %s", strings.Join(verdictLines(s), "\n"))
			}
		})
	}
}

func verdictLines(s *Session) []string {
	o := &page{width: 1000}
	s.writeStep(o)
	return o.lines
}

// confirm answers as long as the confirmation asks, as a board with a fault does.
func confirm(t testing.TB, s *Session, fault int) {
	t.Helper()
	cold := true
	for range 3 * mostSteps {
		x := s.Step()
		if x.Kind != Ask || x.Reason != Confirms {
			return
		}
		if x.Probe.Cold() && !cold {
			t.Errorf("%s comes after power is on", s.title(x))
		}
		cold = cold && x.Probe.Cold()
		checkGate(t, s)
		if err := s.Answer(s.shown(x, fault)); err != nil {
			t.Fatal(err)
		}
	}
	t.Fatal("the confirmation does not end")
}

// TestRepairThatDoesNotHelp finds the fault that is still there.
func TestRepairThatDoesNotHelp(t *testing.T) {
	s := session(t, "larkspur13")
	still := fault(t, s, "R34:open")
	must(t, s, "symptom dark", "r U9")
	confirm(t, s, still)
	if text := strings.Join(verdictLines(s), "\n"); s.Step().Kind == Confirmed || !strings.HasPrefix(text, "Still wrong  ") {
		t.Fatalf("R34 is open, and it says\n%s", text)
	}
	if _, found := play(t, s, still); !found {
		t.Fatalf("R34 is not named: %s", s.lead())
	}
}

// TestEverySecondFaultShows repairs R34 and leaves another fault in: none that
// a probe of the power-up order sees may be confirmed away.
func TestEverySecondFaultShows(t *testing.T) {
	start := session(t, "larkspur13")
	must(t, start, "symptom dark", "r R34:open")
	asked, seen, missed := start.now.confirm, 0, 0
	for i := range start.d.Faults {
		differs := func(k int) bool { return start.d.Classes[i][k] != start.d.Healthy[k] }
		inOrder := slices.ContainsFunc(slices.Concat(start.rungs(netlist.Look), start.rungs(netlist.Volts), start.rungs(netlist.Activity)),
			differs)
		if !inOrder {
			continue
		}
		seen++
		if !slices.ContainsFunc(asked, differs) {
			missed++
			t.Errorf("%s shows at the power-up order, and at nothing that confirms", start.d.Names[i])
		}
	}
	if seen < 50 {
		t.Errorf("only %d faults show at the power-up order", seen)
	}
	t.Logf("%d probes for %d faults", len(asked), seen)
}

// TestFuseIsNotTheCauseAlone asks for the short behind an open fuse, cold, before
// a verdict may name the fuse.
func TestFuseIsNotTheCauseAlone(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "reading VBL_F=0V", "reading VMAIN=12.6V", "reading F3=OL")
	x := s.Step()
	if x.Kind != Ask || !x.Probe.Cold() {
		t.Fatalf("the step is %s", strings.Join(verdictLines(s), "\n"))
	}
	for s.Step().Kind == Ask {
		must(t, s, s.shown(s.Step(), fault(t, s, "F3:open")))
	}
	behind := 0
	for _, r := range s.now.readings {
		if r.Probe.Method == netlist.Ohms {
			behind++
		}
	}
	if behind == 0 {
		t.Error("no ohms were read before the verdict")
	}
	if text := strings.Join(verdictLines(s), "\n"); !strings.Contains(text, "F3 is open, and "+probe.Fuse) {
		t.Errorf("the verdict does not ask what blew the fuse:\n%s", text)
	}
}

// TestFuseIsReadAfterItsShort repairs the short and forgets the fuse.
func TestFuseIsReadAfterItsShort(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom fuse", "VBL=ohms:0.2", "r C34")
	confirm(t, s, fault(t, s, "F3:open"))
	last := s.now.readings[len(s.now.readings)-1]
	if s.Step().Kind == Confirmed || !last.Probe.Cold() || s.b.SayPoint(last.Probe) != "F3" {
		t.Errorf("%s is read last, and it says\n%s", last.Text, strings.Join(verdictLines(s), "\n"))
	}
}

// TestHistoryShiftsTheSuspects weighs a case with what happened to the machine.
func TestHistoryShiftsTheSuspects(t *testing.T) {
	plain := session(t, "larkspur13")
	s, err := New(plain.n, []string{"hinge"})
	if err != nil {
		t.Fatal(err)
	}
	must(t, plain, "symptom black")
	must(t, s, "symptom black")
	cable := func(s *Session) float64 {
		p := 0.0
		for _, x := range s.now.mass {
			for _, i := range s.d.Groups[x.group].Faults {
				if s.b.Parts[s.d.Faults[i].Faults[0].Part].Kind.Name == "cable" {
					p += x.p
					break
				}
			}
		}
		return p
	}
	if a, b := cable(plain), cable(s); !(b > 1.5*a) {
		t.Errorf("the cable's groups have %.3f without and %.3f with a broken hinge", a, b)
	}
	if _, err := New(plain.n, []string{"hing"}); err == nil {
		t.Error("a history that there is not is taken")
	}
}

// TestFailedGateKeepsPowerOff answers the cold check of the high rail with a short.
func TestFailedGateKeepsPowerOff(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark", "reading VBL=ohms:0.2")
	for range mostSteps {
		x := s.Step()
		if x.Kind == Verdict && s.More() != nil {
			break
		}
		if x.Kind != Ask {
			continue
		}
		if !x.Probe.Cold() {
			t.Fatalf("%s is asked for on a shorted rail", s.title(x))
		}
		must(t, s, s.shown(x, fault(t, s, "C34:short")))
	}
	if text := strings.Join(verdictLines(s), "\n"); !strings.Contains(text, "VBL reads 0.1 Ω: "+probe.NoPower) ||
		!strings.Contains(text, "C34:short") || !strings.Contains(text, "to find it with all power out") {
		t.Errorf("the verdict is\n%s", text)
	}
}

// TestReadingsThatCannotAllBeTrue asks to read them again.
func TestReadingsThatCannotAllBeTrue(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "LIGHT=yes", "VBL=31.5V", "VBL=0V")
	text := strings.Join(verdictLines(s), "\n")
	if s.Step().Kind != Verdict || !strings.Contains(text, "read again   VBL=31.5V, VBL=0V") {
		t.Errorf("it says\n%s", text)
	}
	must(t, s, "g")
	if s.Step().Kind != Ask {
		t.Error("g does not go on")
	}
	must(t, s, "u", "u")
	if text := s.lead(); !strings.HasPrefix(text, "none") {
		t.Errorf("without the odd one: %s", text)
	}
}

// TestTwoFaults names a pair when no single fault explains the readings.
func TestTwoFaults(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark", "A.0=quiet", "R34=OL", "FL2.A0P=OL")
	const few = 8 // answers, beside those that tell of two
	r := s.now.report
	if r.Single || len(r.Pairs) == 0 {
		t.Fatalf("it says %s", s.lead())
	}
	for range few {
		x := s.Step()
		if x.Kind == Verdict {
			break
		}
		both := s.m.Suppose(append(slices.Clone(s.d.Faults[fault(t, s, "FL2.A0P:open")].Faults),
			s.d.Faults[fault(t, s, "R34:open")].Faults...)...)
		value := 0.0
		if x.Probe.Cold() {
			value = s.m.Cold(x.Probe.State.Unplugged, both).Value(x.Probe)
		} else {
			value = s.m.Run(x.Probe.State, both).Value(x.Probe)
		}
		must(t, s, said(s.b, x.Probe, value))
	}
	text := strings.Join(verdictLines(s), "\n")
	if !strings.HasPrefix(text, "Verdict  no single fault explains every reading") || !strings.Contains(text, "FL2.A0P:open") ||
		!strings.Contains(text, "R34:open") {
		t.Errorf("it says\n%s", text)
	}
}

func TestSkippedPointIsNotAskedForAgain(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark")
	var points []string
	for s.Step().Kind == Ask {
		point := s.b.SayPoint(s.Step().Probe)
		if slices.Contains(points, point) {
			t.Fatalf("%s is asked for again", point)
		}
		points = append(points, point)
		must(t, s, "s")
	}
	if len(points) < 10 {
		t.Errorf("only %v were asked for", points)
	}
	s = session(t, "larkspur13")
	must(t, s, "symptom red", "s scope")
	for k := range s.d.Probes {
		if s.d.Probes[k].Method == netlist.Activity && s.open(&s.now, k) {
			t.Fatal("a scope is still asked for")
		}
	}
}

func sameStep(a, b Step) bool { return cmp.Equal(a, b, cmp.AllowUnexported(Step{})) }

func TestUndo(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark")
	for _, line := range []string{"40k", "s", "VBL=12.2V", "r C34"} {
		step, text := s.Step(), s.lead()
		must(t, s, line, "u")
		if !sameStep(s.Step(), step) || s.lead() != text {
			t.Errorf("after %s and undo it is %s, not %s", line, s.title(s.Step()), s.title(step))
		}
		must(t, s, line)
	}
	must(t, s, "u", "u", "u", "u", "u dark")
	if _, err := s.Undo(); !errors.Is(err, ErrNothing) {
		t.Errorf("there was something left to undo: %v", err)
	}
}

// TestShortAnswers reads what a person types as the reading that it stands for.
func TestShortAnswers(t *testing.T) {
	s := session(t, "larkspur13")
	at := func(how netlist.Method, net string) {
		n, ok := s.b.Net(net)
		if !ok {
			t.Fatal(net)
		}
		for k, p := range s.d.Probes {
			if p.Method == how && p.Net == n && p.Other == netlist.None {
				s.now.step = s.step(&s.now, k, Tells)
				return
			}
		}
		t.Fatalf("no %s at %s", how, net)
	}
	for _, c := range []struct {
		how        netlist.Method
		typed, got string
	}{
		{netlist.Volts, "12.2", "VBL=12.2V"}, {netlist.Volts, "12.2V", "VBL=12.2V"}, {netlist.Volts, "f", "VBL=floating"},
		{netlist.Volts, " 80m ", "VBL=80mV"},
		{netlist.Volts, "1.09 V", "VBL=1.09V"}, {netlist.Volts, "-0", "VBL=0V"},
		{netlist.Ohms, "40k", "VBL=ohms:40k"}, {netlist.Ohms, "40 k", "VBL=ohms:40k"}, {netlist.Ohms, "40 kΩ", "VBL=ohms:40k"},
		{netlist.Ohms, "OL", "VBL=ohms:OL"},
		{netlist.Ohms, "open", "VBL=ohms:OL"}, {netlist.Ohms, ">20M", "VBL=ohms:OL"}, {netlist.Ohms, "0.1", "VBL=ohms:0.1"},
		{netlist.Ohms, "0.1 ohm", "VBL=ohms:0.1"},
		{netlist.Diode, "0.45", "VBL=diode:0.45V"}, {netlist.Diode, "ol", "VBL=diode:OL"},
		{netlist.Activity, "q", "VBL=quiet"}, {netlist.Activity, "t", "VBL=toggling"}, {netlist.Activity, "0.35", "VBL=swing:0.35V"},
		{netlist.Volts, "VBL=12V@lid=shut", "VBL=12V@lid=shut"}, {netlist.Volts, "VBL = 3", "VBL = 3"},
		{netlist.Volts, "OL", ""}, {netlist.Volts, "y", ""}, {netlist.Ohms, "-3", ""}, {netlist.Ohms, "12V", ""}, {netlist.Activity, "f", ""},
		{netlist.Volts, "", ""}, {netlist.Volts, "12 2", ""},
		{netlist.Ohms, "0L", ""}, {netlist.Ohms, "0,1", ""}, {netlist.Ohms, ">1M", ""},
	} {
		at(c.how, "VBL")
		got, err := s.full(c.typed)
		if got != c.got || (err != nil) != (c.got == "") {
			t.Errorf("%s %q is %q, %v, not %q", c.how, c.typed, got, err, c.got)
		}
		if err == nil {
			if _, err := s.b.ParseReading(got, s.b.Usual()); err != nil {
				t.Errorf("%q is not read back: %v", got, err)
			}
		}
	}
}

// TestWrongAnswersLoseNothing types what is not understood, each with a message.
func TestWrongAnswersLoseNothing(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark", "40k")
	d := &Dialogue{Session: s, Saved: "x.case"}
	before, step := s.Entries(), s.Step()
	for line, want := range map[string]string{
		"banana": "expected", "VLB=3V": `did you mean "VBL"`, "VBL=4x": "expected", "s nowhere": "nothing on the board is called",
		"r": "which part", "r CC34": `did you mean "C34"`,
		"r C34:open:x": "no such fault", "o 99": "no number of the list", "o x": "no number", "g": "no verdict", "GND=0V": "is ground",
	} {
		r := d.Do(line, 100)
		text := strings.Join(r.Lines, "\n")
		if r.Step || !strings.Contains(text, want) {
			t.Errorf("%q: %s", line, text)
		}
		if !cmp.Equal(s.Entries(), before, cmp.AllowUnexported(Entry{})) || !sameStep(s.Step(), step) {
			t.Errorf("%q changed the case", line)
		}
	}
}

// TestOthers picks a probe, which then is the step.
func TestOthers(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark", "40k")
	list := s.Others()
	must(t, s, "o 2")
	if !s.Step().Probe.Same(list[1].Probe) {
		t.Errorf("the step is %s, not %s", s.title(s.Step()), s.title(list[1]))
	}
	if s.Choose(0) == nil || s.Choose(1000) == nil {
		t.Error("a number that is not in the list was taken")
	}
}

// TestFailedSaveDoesNotCount lets the disk be full.
func TestFailedSaveDoesNotCount(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark")
	full := errors.New("the disk is full")
	s.Save = func(string) error { return full }
	if err := s.Answer("40k"); !errors.Is(err, full) {
		t.Errorf("the error is %v", err)
	}
	if len(s.Entries()) != 1 {
		t.Error("the answer counts, though it is not saved")
	}
}

// TestResume writes a case, reads it, and is where it was.
func TestResume(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.case")
	file, err := Create(name, Head("larkspur13", "", "1280x800,bits=18", []string{"liquid"}))
	if err != nil {
		t.Fatal(err)
	}
	s := session(t, "larkspur13")
	s.Save = file.Append
	must(t, s, "symptom dark", "40k", "VBL=12.2V", "u", "s", "VBL_SW=12.6V", "r U9")
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	read := func() (Case, *Session) {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		c, problems := ParseCase(name, string(data))
		again := session(t, "larkspur13")
		if problems = append(problems, again.Replay(&c)...); len(problems) > 0 {
			t.Fatal(problems)
		}
		return c, again
	}
	c, again := read()
	if !slices.Equal(c.History, []string{"liquid"}) || c.Panel != "1280x800,bits=18" || c.Dropped != "" {
		t.Errorf("the case is %+v", c)
	}
	if !sameStep(again.Step(), s.Step()) || again.lead() != s.lead() {
		t.Errorf("it goes on with %s, not %s", again.title(again.Step()), s.title(s.Step()))
	}

	// A crash in the middle of a line, at each place: no whole line is lost.
	whole, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	start := strings.LastIndex(strings.TrimSuffix(string(whole), "\n"), "\n") + 1
	for size := start; size < len(whole); size++ {
		if err := os.WriteFile(name, whole[:size], 0o600); err != nil {
			t.Fatal(err)
		}
		c, cutOff := read()
		if len(cutOff.Entries()) != len(s.Entries())-1 || c.Dropped != string(whole[start:size]) {
			t.Fatalf("cut at %d: %d entries, %q dropped", size, len(cutOff.Entries()), c.Dropped)
		}
		hold, err := Take(name)
		if err != nil || hold.Err != nil {
			t.Fatal(err, hold.Err)
		}
		file, err := Resume(name, c.Good, hold)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(file.Append("undo"), file.Close()); err != nil {
			t.Fatal(err)
		}
		if data, err := os.ReadFile(name); err != nil || string(data) != string(whole[:start])+"undo\n" {
			t.Fatalf("cut at %d it goes on as %q, %v", size, data, err)
		}
	}
}

func TestCreateNeverWritesOver(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.case")
	if err := os.WriteFile(name, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Create(name, Head("b", "", "", nil)); !errors.Is(err, os.ErrExist) {
		t.Errorf("the error is %v", err)
	}
}

// TestWrongCases points at what is wrong in a case file.
func TestWrongCases(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "f:1:1: error: this is no case file"},
		{"board", "f:1:1: error: this is no case file"},
		{"hello there\n", "f:1:1: error: this is no case file"},
		{"\x00\x01\xff\n", "f:1:1: error: this is no case file"},
		{"# x\n\nboard larkspur13\nsymptom drak\n", "f:4:9: error: no symptom is called \"drak\""},
		{"board larkspur13\nreading VBL=4x\n", "f:2:13: error: "},
		{"board larkspur13\n  reading VLB=4\n", "f:2:11: error: "},
		{"board larkspur13\nreadign VBL=4\n", "f:2:1: error: \"readign\" is no entry"},
		{"board larkspur13\nnot C34:shrt\n", "f:2:5: error: the board has no fault"},
		{"board larkspur13\nundo\n", "f:2:1: error: there is nothing to undo"},
		{"board larkspur13\nskip XY\n", "f:2:6: error: nothing on the board"},
		{"board larkspur13\nrepaired C34 C999\n", "f:2:14: error: no part is called"},
		{"board larkspur13\nrepaired\n", "f:2:"},
		{"board larkspur13\nhistory licuid\n", "f:2:9: error: no history"},
	} {
		k, problems := ParseCase("f", c.text)
		if len(problems) == 0 {
			problems = session(t, "larkspur13").Replay(&k)
		}
		if len(problems) != 1 || !strings.HasPrefix(problems[0].Report(), c.want) {
			t.Errorf("%q: %v, not %s", c.text, problems, c.want)
		}
	}
	k, _ := ParseCase("f", "board siskin15\n")
	if p, ok := k.Of("larkspur13"); ok || !strings.HasPrefix(p.Report(), "f:1:7: error: this is a case of siskin15, not of larkspur13") {
		t.Errorf("%v, %s", ok, p.Report())
	}
}

// TestRescueKeepsTheBoard makes no comment of the line without which there is no case.
func TestRescueKeepsTheBoard(t *testing.T) {
	const text = "# shelf 4\nboard b\nx\ny\nundo\nundo\n"
	saved, told := Rescue(text, []mistake.Mistake{{Line: 2, Msg: "two"}, {Line: 3, Msg: "three"}})
	if want := "# shelf 4\nboard b\n# lost: x\ny\nundo\n# lost: undo\n"; saved != want {
		t.Errorf("%q, not %q", saved, want)
	}
	if len(told) != 1 || told[0].Msg != "three" || told[0].Severity != mistake.Warning {
		t.Errorf("it is told %v", told)
	}
}

// FuzzParseCase reads anything: no panic, and each problem has a place.
func FuzzParseCase(f *testing.F) {
	f.Add("board larkspur13\nsymptom dark\nreading VBL=12.2V\nskip VBL\nundo\nrepaired C34\n")
	f.Add("board b ./b.board\nhistory drop\nnot C34:short\nread")
	f.Add("\xff\x00")
	f.Fuzz(func(t *testing.T, text string) {
		c, problems := ParseCase("f", text)
		if c.Board != "" && len(text) < 300 {
			problems = append(problems, session(t, "larkspur13").Replay(&c)...)
		}
		for _, p := range problems {
			if p.Line < 1 || p.Column < 1 || p.Msg == "" {
				t.Errorf("%q: %+v", text, p)
			}
		}
		if saved, _ := Rescue(text, problems); c.Board != "" && len(text) < 300 {
			again, more := ParseCase("f", saved)
			more = append(more, session(t, "larkspur13").Replay(&again)...)
			if len(more) > 0 || strings.ReplaceAll(saved, lostMark, "") != strings.ReplaceAll(text, lostMark, "") && c.Dropped == "" {
				t.Errorf("%q is saved as %q: %v", text, saved, more)
			}
		}
		if c.Good+int64(len(c.Dropped)) != int64(len(text)) {
			t.Errorf("%q: %d good bytes and %q dropped", text, c.Good, c.Dropped)
		}
	})
}
