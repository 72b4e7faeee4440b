package bench

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func typeLine(s *Screen, text string) {
	for _, r := range text {
		s.Key(Key(r))
	}
	s.Key(KeyEnter)
}

func TestScreenFollowsTheDialogue(t *testing.T) {
	d := &Dialogue{Session: session(t, "larkspur13"), Saved: "x.case"}
	must(t, d.Session, "symptom dark")
	s := NewScreen(d, false)
	for _, size := range [][2]int{{80, 24}, {120, 40}} {
		s.Resize(size[0], size[1])
		text := strings.Join(s.View(), "\n")
		for _, want := range []string{"larkspur13", "Probe 3", "meter", "Suspects", "█", "LIGHT=no  differs"} {
			if !strings.Contains(text, want) {
				t.Errorf("%v: no %q in\n%s", size, want, text)
			}
		}
	}
	typeLine(s, "40")
	s.Key(KeyUp) // what was typed before
	s.Key('k')
	s.Key(KeyBackspace)
	s.Key('0')
	if line := s.View()[39]; line != "> 400" {
		t.Errorf("the input line is %q", line)
	}
	s.Key(KeyClear)
	typeLine(s, "banana")
	if text := strings.Join(s.View(), "\n"); !strings.Contains(text, "! \"banana\" is no answer") {
		t.Errorf("no message in\n%s", text)
	}
	s.Key(KeyEscape)
	if text := strings.Join(s.View(), "\n"); strings.Contains(text, "banana") {
		t.Error("the message stays")
	}
	if n := len(d.Readings()); n != 3 {
		t.Errorf("%d readings", n)
	}
	s.Key(KeyInterrupt)
	if !s.End() {
		t.Error("^C does not end it")
	}
}

// TestScreenFits draws at any size, after any keys: as many lines as the terminal
// has, none wider, and without colour no control sequence.
func TestScreenFits(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := &Dialogue{Session: session(t, "larkspur13"), Saved: "x.case"}
		must(t, d.Session, "symptom "+rapid.SampledFrom(d.b.SymptomNames()).Draw(r, "symptom"))
		s := NewScreen(d, false)
		for range rapid.IntRange(1, 12).Draw(r, "lines") {
			w, h := rapid.IntRange(20, 200).Draw(r, "width"), rapid.IntRange(6, 60).Draw(r, "height")
			s.Resize(w, h)
			typeLine(s, rapid.SampledFrom([]string{"w", "l", "?", "o", "o 1", "s", "u", "g", "0", "40k", "12.6", "q", "n", "OL", "r C34", "VBL=12.2V", "nonsense", strings.Repeat("x", 300)}).Draw(r, "line"))
			s.Key(rapid.SampledFrom([]Key{KeyPageDown, KeyPageUp, KeyEscape, KeyUp, KeyDown, KeyOther, 'é'}).Draw(r, "key"))
			lines := s.View()
			if len(lines) != h {
				r.Fatalf("%d lines on a screen of %d", len(lines), h)
			}
			for _, line := range lines {
				if n := utf8.RuneCountInString(line); n > w || strings.ContainsAny(line, "\x1b\n\r") {
					r.Fatalf("%d letters on a screen of %d: %q", n, w, line)
				}
			}
		}
	})
}

func TestScreenScrolls(t *testing.T) {
	d := &Dialogue{Session: session(t, "larkspur13"), Saved: "x.case"}
	must(t, d.Session, "symptom dark")
	s := NewScreen(d, true)
	s.Resize(80, 12)
	first := strings.Join(s.View(), "\n")
	if !strings.Contains(first, "PgDn: more") || !strings.Contains(first, "\x1b[1m") {
		t.Errorf("no word of more, or no style, in\n%s", first)
	}
	for range 10 {
		s.Key(KeyPageDown)
	}
	last := strings.Join(s.View(), "\n")
	if strings.Contains(last, "PgDn") || !strings.Contains(last, "LIGHT=no") {
		t.Errorf("the end is not reached:\n%s", last)
	}
	for range 10 {
		s.Key(KeyPageUp)
	}
	if got := strings.Join(s.View(), "\n"); got != first {
		t.Errorf("it does not scroll back:\n%s", got)
	}
}

func TestKeys(t *testing.T) {
	k := NewKeys(strings.NewReader("aé\r\x7f\x15\x03\x04\x1b[A\x1bOB\x1b[5~\x1b[6~\x1b[3~\x1b[1;5C\x01\x1b"))
	want := []Key{'a', 'é', KeyEnter, KeyBackspace, KeyClear, KeyInterrupt, KeyEOF, KeyUp, KeyDown, KeyPageUp, KeyPageDown, KeyOther, KeyOther, KeyOther, KeyEscape}
	for i, w := range want {
		if got, err := k.Next(); got != w || err != nil {
			t.Errorf("key %d is %d, %v, not %d", i, got, err, w)
		}
	}
	if _, err := k.Next(); !errors.Is(err, io.EOF) {
		t.Errorf("the end is %v", err)
	}
}

// TestRunEndsWithItsContext does not wait for a line that never comes.
func TestRunEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	in, w := io.Pipe()
	defer w.Close()
	var out bytes.Buffer
	done := make(chan error)
	go func() {
		done <- (&Dialogue{Session: session(t, "larkspur13"), Saved: "x.case"}).Run(ctx, in, &out)
	}()
	cancel()
	select {
	case err := <-done:
		if err != nil || !strings.HasSuffix(out.String(), "saved in x.case\n") {
			t.Errorf("%v, %q", err, out.String())
		}
	case <-time.After(time.Minute):
		t.Fatal("it goes on")
	}
}
