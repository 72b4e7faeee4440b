package view

import "slices"

// tap is what one pair of the panel's connector is wired to.
type tap struct {
	channel, pair int
	constant      bool // nobody drives it, it reads level
	level         Level
	turned        bool // all bits inverted
	half          bool // one conductor only
}

// read is the seven slots at the panel's end.
func (t tap) read(sent [2]uint32) uint32 {
	switch {
	case t.constant && t.level == High:
		return pairAll
	case t.constant:
		return 0
	case t.turned:
		return ^sent[t.channel] >> (slots * t.pair) & pairAll
	}
	return sent[t.channel] >> (slots * t.pair) & pairAll
}

// wire is sender, cable and panel with the faults in place.
type wire struct {
	link     Link
	send     *codec
	panel    *codec
	channels int // of the sender
	taps     [2][pairMax]tap
}

// newWire checks link and faults. Faults act in the order of their kinds: first
// what the sender does, then what is exchanged, then what is cut.
func newWire(l Link, faults []Fault) (*wire, error) {
	if err := l.Check(); err != nil {
		return nil, err
	}
	for _, f := range faults {
		if err := f.check(l); err != nil {
			return nil, err
		}
	}
	if err := oneLevelEach(faults); err != nil {
		return nil, err
	}
	w := &wire{link: l, channels: l.Channels}
	w.panel = newCodec(l.Bits, l.Map)
	w.send = w.panel
	for c := range w.taps {
		for p := range w.taps[c] {
			w.taps[c][p] = tap{channel: c, pair: p}
		}
	}
	order := []Kind{WrongMap, WrongDepth, Exchanged, OneChannel, Swapped, Inverted, Leg, Missing, Stuck, ClockGone}
	for _, k := range order {
		for _, f := range faults {
			if f.Kind == k {
				w.put(f)
			}
		}
	}
	return w, nil
}

func (w *wire) put(f Fault) {
	l := w.link
	switch f.Kind {
	case WrongMap:
		w.send = newCodec(24, VESA+JEIDA-l.Map)
	case WrongDepth:
		if l.Bits == 18 {
			w.send = newCodec(24, f.Map)
			return
		}
		w.send = newCodec(18, VESA)
		for c := range w.taps {
			w.open(c, 3, f.level())
		}
	case Exchanged:
		w.taps[0], w.taps[1] = w.taps[1], w.taps[0]
	case OneChannel:
		w.channels = 1
		w.dead(1, f.level())
	case ClockGone:
		w.dead(f.Lane.Channel, f.level())
	case Swapped:
		a, b := w.tap(f.Lane), w.tap(f.Other)
		*a, *b = *b, *a
	case Inverted:
		t := w.tap(f.Lane)
		t.turned = !t.turned
	case Leg:
		w.tap(f.Lane).half = true
	case Missing, Stuck:
		w.open(f.Lane.Channel, f.Lane.Pair, f.level())
	}
}

func (w *wire) tap(n Lane) *tap { return &w.taps[n.Channel][n.Pair] }

func (w *wire) open(c, p int, v Level) {
	w.taps[c][p] = tap{constant: true, level: v}
}

func (w *wire) dead(c int, v Level) {
	for p := range w.taps[c] {
		w.open(c, p, v)
	}
}

// receive takes the words of both channels apart at one channel of the panel.
func (w *wire) receive(c int, sent [2]uint32) uint32 {
	var px uint32
	for p := range w.panel.layout {
		px |= w.panel.bits[p][w.taps[c][p].read(sent)]
	}
	return px
}

// speck is the error of a pair with one conductor. That errors come is physics,
// how many is invented: one word in 32 has one wrong bit. The seed is fixed.
func (w *wire) speck(c, x, y int) uint32 {
	var px uint32
	for p := range w.panel.layout {
		if !w.taps[c][p].half {
			continue
		}
		h := uint32(x)*0x9E3779B1 ^ uint32(y)*0x85EBCA77 ^ uint32(p+8*c)*0xC2B2AE3D
		h ^= h >> 15
		h *= 0x2C1B3C6D
		h ^= h >> 12
		h *= 0x297A2D39
		h ^= h >> 15
		if h&31 == 0 {
			px |= w.panel.bits[p][1<<(h>>8%slots)]
		}
	}
	return px & colour
}

// noisy reports whether a channel has a pair with one conductor.
func (w *wire) noisy(c int) bool {
	return slices.ContainsFunc(w.taps[c][:len(w.panel.layout)], func(t tap) bool { return t.half })
}

// line sends one line of pixels and writes what the panel paints. A panel with two
// channels puts what comes in on A into columns 1, 3, 5..., B into 2, 4, 6...
func (w *wire) line(out, in []uint32, y int) {
	noise := [2]bool{w.noisy(0), w.noisy(1)}
	at := func(x int) uint32 {
		if x < len(in) {
			return w.send.active(in[x])
		}
		return w.send.active(0) // an odd width is filled up with black
	}
	step := w.link.Channels
	for x := 0; x < len(out); x += step {
		var sent [2]uint32
		switch {
		case w.channels == 2:
			sent = [2]uint32{at(x), at(x + 1)}
		case step == 2: // each pixel clock moves the panel on by two columns
			sent[0] = at(x / 2)
		default:
			sent[0] = at(x)
		}
		for c := 0; c < step && x+c < len(out); c++ {
			px := w.receive(c, sent)
			if noise[c] {
				px ^= w.speck(c, x+c, y)
			}
			out[x+c] = w.panel.shown(px)
		}
	}
}

// enabling is what becomes of data enable.
type enabling int

const (
	syncGood enabling = iota
	syncDead          // it never moves
	syncWild          // it moves with the picture, or upside down
)

// enable sends pixels and blanking of many contents and compares data enable at
// channel A of the panel with what was sent. Data enable comes from one pair, so
// it is enough to change one channel at a time. In blanking the colours are black
// (common practice).
func (w *wire) enable() enabling {
	contents := []uint32{0, 0xFFFFFF}
	for b := range 24 {
		contents = append(contents, 1<<b, 0xFFFFFF&^(1<<b))
	}
	follows, high, low := true, false, false
	see := func(sent [2]uint32, want bool) {
		got := w.receive(0, sent)>>bitDE&1 == 1
		follows = follows && got == want
		high, low = high || got, low || !got
	}
	for _, px := range contents {
		see([2]uint32{w.send.active(px), w.send.active(0)}, true)
		see([2]uint32{w.send.active(0), w.send.active(px)}, true)
	}
	for _, sync := range []uint32{0, 1 << bitHS, 1 << bitVS, 1<<bitHS | 1<<bitVS} {
		idle := w.send.word(sync)
		see([2]uint32{idle, idle}, false)
	}
	switch {
	case follows:
		return syncGood
	case high && low:
		return syncWild
	}
	return syncDead
}
