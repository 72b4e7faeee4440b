package bench

import (
	"bytes"
	"context"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	tea "charm.land/bubbletea/v2"
	"github.com/clipperhouse/displaywidth"
	"pgregory.net/rapid"
)

// press sends one key and reports whether the program is to end.
func press(s *Screen, k tea.Key) bool {
	_, cmd := s.Update(tea.KeyPressMsg(k))
	if cmd == nil {
		return false
	}
	_, quit := cmd().(tea.QuitMsg)
	return quit
}

func typeText(s *Screen, text string) {
	for _, r := range text {
		press(s, tea.Key{Code: r, Text: string(r)})
	}
}

// typeLine reports whether the line ends the program.
func typeLine(s *Screen, text string) bool {
	typeText(s, text)
	return press(s, tea.Key{Code: tea.KeyEnter})
}

func resize(s *Screen, width, height int) {
	s.Update(tea.WindowSizeMsg{Width: width, Height: height})
}

// shown returns the lines of the view.
func shown(s *Screen) []string { return strings.Split(s.View().Content, "\n") }

func ctrl(r rune) tea.Key { return tea.Key{Code: r, Mod: tea.ModCtrl} }

func dark(t testing.TB) (*Dialogue, *Screen) {
	t.Helper()
	d := &Dialogue{Session: session(t, "larkspur13"), Saved: "x.case"}
	must(t, d.Session, "symptom dark")
	return d, NewScreen(d, false)
}

func TestScreenFollowsTheDialogue(t *testing.T) {
	d, s := dark(t)
	for _, size := range [][2]int{{80, 24}, {120, 40}} {
		resize(s, size[0], size[1])
		text := s.View().Content
		for _, want := range []string{"larkspur13", "Probe 3", "meter", "Suspects", "█", "LIGHT=no  differs"} {
			if !strings.Contains(text, want) {
				t.Errorf("%v: no %q in\n%s", size, want, text)
			}
		}
	}
	if !s.View().AltScreen {
		t.Error("it does not stand on the second screen")
	}
	typeLine(s, "banana")
	if text := s.View().Content; !strings.Contains(text, "! \"banana\" is no answer") {
		t.Errorf("no message in\n%s", text)
	}
	press(s, tea.Key{Code: tea.KeyEscape})
	if text := s.View().Content; strings.Contains(text, "banana") {
		t.Error("the message stays")
	}
	if n := len(d.now.readings); n != 2 {
		t.Errorf("%d readings", n)
	}
}

// TestScreenKeys types line by line what a terminal sends, and reads what stands
// in the last line and where its cursor is.
func TestScreenKeys(t *testing.T) {
	key := func(code rune) tea.Key { return tea.Key{Code: code} }
	tests := []struct {
		name   string
		keys   []any // text or key
		want   string
		cursor int // in cells
	}{
		{"text", []any{"12.2"}, "> 12.2", 6},
		{"backspace", []any{"40k", key(tea.KeyBackspace), "0"}, "> 400", 5},
		{"backspace as ^H", []any{"40k", ctrl('h')}, "> 40", 4},
		{"backspace on nothing", []any{key(tea.KeyBackspace), "1"}, "> 1", 3},
		{"a mark goes with its letter", []any{"ae\u0301", key(tea.KeyBackspace)}, "> a", 3},
		{"wide letters", []any{"基板"}, "> 基板", 6},
		{"wide letters go one by one", []any{"基板", key(tea.KeyBackspace)}, "> 基", 4},
		{"^U", []any{"40k", ctrl('u'), "7"}, "> 7", 3},
		{"the line before", []any{"banana", key(tea.KeyEnter), key(tea.KeyUp)}, "> banana", 8},
		{"the line before that, and back", []any{"aa", key(tea.KeyEnter), "bb", ctrl('j'), key(tea.KeyUp), key(tea.KeyUp), key(tea.KeyUp),
			key(tea.KeyDown)}, "> bb", 4},
		{"below the last line", []any{"aa", key(tea.KeyEnter), key(tea.KeyUp), key(tea.KeyDown), key(tea.KeyDown)}, "> ", 2},
		{"the keypad enters too", []any{"aa", key(tea.KeyKpEnter)}, "> ", 2},
		{"keys without a meaning", []any{"a", key(tea.KeyF5), key(tea.KeyTab), ctrl('k'), ctrl('z'), tea.Key{Code: 'x', Mod: tea.ModAlt}, "b"},
			"> ab", 4},
		{"the end of a long line", []any{strings.Repeat("x", 100) + "y"}, strings.Repeat("x", 78) + "y", 79},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, s := dark(t)
			for _, k := range test.keys {
				if text, ok := k.(string); ok {
					typeText(s, text)
				} else if press(s, k.(tea.Key)) {
					t.Fatalf("%v ends it", k)
				}
			}
			v := s.View()
			lines := strings.Split(v.Content, "\n")
			if got := lines[len(lines)-1]; got != test.want {
				t.Errorf("the input line is %q, not %q", got, test.want)
			}
			if v.Cursor == nil || v.Cursor.X != test.cursor || v.Cursor.Y != len(lines)-1 {
				t.Errorf("the cursor is %+v, not at %d, %d", v.Cursor, test.cursor, len(lines)-1)
			}
		})
	}
}

func TestScreenEnds(t *testing.T) {
	for _, k := range []tea.Key{ctrl('c'), ctrl('d')} {
		if _, s := dark(t); !press(s, k) {
			t.Errorf("%v does not end it", k)
		}
	}
	d, s := dark(t)
	if !typeLine(s, "x") {
		t.Error("x does not end it")
	}
	if typeLine(s, "40k") || len(d.now.readings) != 2 {
		t.Error("it takes lines after its end")
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
			resize(s, w, h)
			typeLine(s, rapid.SampledFrom([]string{"w", "l", "?", "o", "o 1", "s", "u", "g", "0", "40k", "12.6", "q", "n", "OL", "r C34",
				"VBL=12.2V", "nonsense", "基板が暗い", strings.Repeat("x", 300), strings.Repeat("板", 300)}).Draw(r, "line"))
			typeText(s, rapid.SampledFrom([]string{"", "é", "e\u0301", "板板", strings.Repeat("板", 150)}).Draw(r, "text"))
			press(s, tea.Key{Code: rapid.SampledFrom([]rune{tea.KeyPgDown, tea.KeyPgUp, tea.KeyEscape, tea.KeyUp, tea.KeyDown, tea.KeyF1}).Draw(r,
				"key")})
			lines := shown(s)
			if len(lines) != h {
				r.Fatalf("%d lines on a screen of %d", len(lines), h)
			}
			for _, line := range lines {
				if n := displaywidth.String(line); n > w || strings.ContainsAny(line, "\x1b\n\r") {
					r.Fatalf("%d cells on a screen of %d: %q", n, w, line)
				}
			}
			if c := s.View().Cursor; c.X >= w || c.Y != h-1 {
				r.Fatalf("the cursor is at %d, %d on a screen of %d by %d", c.X, c.Y, w, h)
			}
		}
	})
}

// TestScreenColumns checks that the suspects begin in one column, whatever stands
// to the left of them.
func TestScreenColumns(t *testing.T) {
	d, s := dark(t)
	d.Saved = "基板.case"
	for _, size := range []int{104, 120, 200} {
		resize(s, size, 40)
		found := 0
		for _, line := range shown(s) {
			if at := strings.IndexAny(line, "█·"); at >= 0 {
				found++
				if got, want := displaywidth.String(line[:at]), size-sideWidth+len("100 % "); got != want {
					t.Errorf("at %d a bar begins in column %d, not %d: %q", size, got, want, line)
				}
			}
		}
		if found != 8 {
			t.Errorf("%d suspects", found)
		}
	}
}

// TestScreenOfFewRows keeps the line to type in on any terminal.
func TestScreenOfFewRows(t *testing.T) {
	_, s := dark(t)
	for rows := 1; rows <= 8; rows++ {
		resize(s, 30, rows)
		press(s, ctrl('u'))
		typeText(s, "40k")
		v := s.View()
		if lines := strings.Split(v.Content, "\n"); len(lines) != rows || lines[rows-1] != "> 40k" || v.Cursor.Y != rows-1 {
			t.Errorf("on %d rows, with the cursor in row %d:\n%s", rows, v.Cursor.Y, v.Content)
		}
	}
}

func TestBesideWideLetters(t *testing.T) {
	want := []string{"基板  |a", "ab    |b"}
	if got := beside([]string{"基板", "ab"}, 4, []string{"|a", "|b"}); !slices.Equal(got, want) {
		t.Errorf("%q, not %q", got, want)
	}
}

func TestScreenScrolls(t *testing.T) {
	d, _ := dark(t)
	s := NewScreen(d, true)
	resize(s, 80, 12)
	first := s.View().Content
	if !strings.Contains(first, "PgDn: more") || !strings.Contains(first, "\x1b[1m") {
		t.Errorf("no word of more, or no style, in\n%s", first)
	}
	for range 10 {
		press(s, tea.Key{Code: tea.KeyPgDown})
	}
	last := s.View().Content
	if strings.Contains(last, "PgDn") || !strings.Contains(last, "LIGHT=no") {
		t.Errorf("the end is not reached:\n%s", last)
	}
	for range 10 {
		press(s, tea.Key{Code: tea.KeyPgUp})
	}
	if got := s.View().Content; got != first {
		t.Errorf("it does not scroll back:\n%s", got)
	}
}

// TestScreenColours looks for the warning in red, and for both kinds of readings.
func TestScreenColours(t *testing.T) {
	d, _ := dark(t)
	s := NewScreen(d, true)
	resize(s, 80, 30)
	typeLine(s, "banana")
	text := s.View().Content
	for _, want := range []string{
		"\x1b[1;31m  caution  volts on the point first", "\x1b[1;31m! \"banana\"",
		"\x1b[32m  PICTURE=seen", "\x1b[33m  LIGHT=no", "\x1b[36m 14 % █·",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%q", want, text)
		}
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
