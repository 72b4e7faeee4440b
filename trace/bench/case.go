package bench

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// Entry is a line of a case file.
type Entry struct {
	Verb, Text string
	Line       int    // from 1, where it was read from a file
	raw        string // that line
}

// String writes the entry as it stands in the file.
func (e Entry) String() string {
	if e.Text == "" {
		return e.Verb
	}
	return e.Verb + " " + e.Text
}

// verbs are the entries behind the head of a case file.
var verbs = []string{"symptom", "reading", "skip", "not", "repaired", "undo"}

// Case is a case file as written.
type Case struct {
	Name    string // of the file
	Board   string
	Source  string // where the board was read, empty for one that comes with the program
	Panel   string // the panel that was said to be fitted, empty for the board file's
	History []string
	Entries []Entry
	Dropped string // a last line that was not written to its end
	Good    int64  // bytes before it

	boardLine Entry
}

// Head returns the first lines of a case file; panel is the panel that was said to
// be fitted, if any.
func Head(board, source, panel string, history []string) []string {
	list := []string{strings.TrimSpace("board " + board + " " + source)}
	if panel != "" {
		list = append(list, "panel "+panel)
	}
	for _, h := range history {
		list = append(list, "history "+h)
	}
	return list
}

// ParseCase reads a case file. A last line that does not end was cut off in the
// middle, and is left out.
func ParseCase(name, text string) (Case, []mistake.Mistake) {
	c := Case{Name: name, Good: int64(strings.LastIndexByte(text, '\n') + 1)}
	c.Dropped = text[c.Good:]
	var problems []mistake.Mistake
	for i, raw := range strings.Split(text[:c.Good], "\n") {
		line := strings.TrimSpace(raw)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		verb, rest, _ := strings.Cut(line, " ")
		e := Entry{Verb: verb, Text: strings.TrimSpace(rest), Line: i + 1, raw: raw}
		switch {
		case c.Board == "" && (verb != "board" || e.Text == ""):
			// What does not begin like a case is none, and one message is enough.
			return c, []mistake.Mistake{c.problem(e, verb, mistake.Mistake{Code: "word", Msg: "this is no case file",
				Want: "a first line such as: board larkspur13"})}
		case c.Board == "":
			c.boardLine = e
			c.Board, c.Source, _ = strings.Cut(e.Text, " ")
		case verb == "panel":
			c.Panel = e.Text
		case verb == "history":
			c.History = append(c.History, e.Text)
			if _, err := netlist.FindHistory(e.Text); err != nil {
				problems = append(problems, c.problem(e, e.Text, err))
			}
		case !slices.Contains(verbs, verb):
			problems = append(problems, c.problem(e, verb, mistake.Mistake{Code: "word", Msg: fmt.Sprintf("%q is no entry of a case", verb),
				Want: "one of " + strings.Join(verbs, ", "), Near: mistake.Nearest(verb, verbs)}))
		default:
			c.Entries = append(c.Entries, e)
		}
	}
	if c.Board == "" {
		problems = append(problems, c.problem(Entry{Line: 1, raw: strings.TrimRight(strings.SplitN(text, "\n", 2)[0], "\r")}, "",
			mistake.Mistake{Code: "word", Msg: "this is no case file", Want: "a first line such as: board larkspur13"}))
	}
	return c, problems
}

// Of reports a case that is not of a board.
func (c *Case) Of(board string) (mistake.Mistake, bool) {
	if c.Board == board {
		return mistake.Mistake{}, true
	}
	return c.problem(c.boardLine, c.Board, mistake.Mistake{Code: "word", Msg: fmt.Sprintf("this is a case of %s, not of %s", c.Board, board)}),
		false
}

// problem points at a word of a line.
func (c *Case) problem(e Entry, word string, err error) mistake.Mistake {
	p := mistake.Mistake{File: c.Name, Line: e.Line, Column: 1, Width: max(1, utf8.RuneCountInString(word)), Text: e.raw, Code: "case",
		Msg: err.Error()}
	if at := strings.LastIndex(e.raw, word); word != "" && at >= 0 {
		p.Column = utf8.RuneCountInString(e.raw[:at]) + 1
	}
	var typed mistake.Mistake
	switch {
	case errors.As(err, &typed):
		p.Msg, p.Want, p.Near = typed.Msg, typed.Want, typed.Near
		switch at := strings.LastIndex(e.raw, typed.Text); {
		case typed.Column > 0:
			p.Column, p.Width = p.Column+typed.Column-1, max(1, typed.Width)
		case typed.Text != "" && at >= 0:
			p.Column, p.Width = utf8.RuneCountInString(e.raw[:at])+1, utf8.RuneCountInString(typed.Text)
		}
	default:
		p.Msg = strings.SplitN(p.Msg, "\n", 2)[0]
	}
	return p
}

// Replay takes the entries of a case, which are on disk already. With problems the
// session stays as it was.
func (s *Session) Replay(c *Case) []mistake.Mistake {
	var problems []mistake.Mistake
	var kept []Entry
	for _, e := range c.Entries {
		if e.Verb == "undo" {
			if len(kept) == 0 {
				problems = append(problems, c.problem(e, "undo", mistake.Mistake{Code: "word", Msg: "there is nothing to undo"}))
				continue
			}
			kept = kept[:len(kept)-1]
			continue
		}
		var alone standing
		if err := s.apply(&alone, e); err != nil {
			problems = append(problems, c.problem(e, e.Text, err))
			continue
		}
		kept = append(kept, e)
	}
	if len(problems) > 0 {
		return problems
	}
	now, err := s.derive(kept)
	if err != nil {
		return []mistake.Mistake{c.problem(c.boardLine, c.Board, err)}
	}
	s.entries, s.now = kept, now
	return nil
}

// File is a case file that is being written, by this process alone where its Hold
// could be had.
type File struct {
	Hold *Hold

	f    *os.File
	name string
	size int64 // bytes that are whole lines
}

// Create begins a case file, which must not be there yet.
func Create(name string, head []string) (*File, error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, err
	}
	hold, err := Take(name)
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	c := &File{f: f, name: name, Hold: hold}
	if err := c.Append(strings.Join(head, "\n")); err != nil {
		return nil, errors.Join(err, os.Remove(name), c.Close())
	}
	return c, nil
}

// Resume goes on behind the whole lines of a case file, which was held before it was
// read.
func Resume(name string, good int64, hold *Hold) (*File, error) {
	if err := os.Truncate(name, good); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return nil, err
	}
	return &File{hold, f, name, good}, nil
}

// Append writes a line and returns when it is on disk. What could not be written
// whole is taken away again. A file that something else has changed is left alone.
func (c *File) Append(line string) error {
	if err := c.untouched(); err != nil {
		return err
	}
	n, err := c.f.WriteString(line + "\n")
	if err == nil {
		err = c.f.Sync()
	}
	if err != nil {
		return fmt.Errorf("the answer is not saved, give it again: %w", errors.Join(err, c.takeBack(n)))
	}
	c.size += int64(n)
	return nil
}

// takeBack takes n bytes away that are no whole line.
func (c *File) takeBack(n int) error {
	if st, err := c.f.Stat(); err != nil || st.Size() != c.size+int64(n) {
		return err // what has come behind them is somebody else's
	}
	// By name, since Windows lets nobody cut what was opened to append.
	return os.Truncate(c.name, c.size)
}

// untouched is an error where something that does not ask for the hold, such as an
// editor, has changed the file or put another one in its place.
func (c *File) untouched() error {
	own, err := c.f.Stat()
	if err != nil {
		return err
	}
	named, err := os.Stat(c.name)
	switch {
	case err != nil || !os.SameFile(own, named):
		return fmt.Errorf("the answer is not saved: another file stands where %s was, or none; x leaves, and --resume goes on with it", c.name)
	case own.Size() != c.size:
		return fmt.Errorf("the answer is not saved: something else has written to %s; x leaves, and --resume goes on with it", c.name)
	}
	return nil
}

// Close ends the file and lets others write it.
func (c *File) Close() error { return errors.Join(c.f.Close(), c.Hold.Release()) }
