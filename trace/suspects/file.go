package suspects

import (
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
)

// Symptom gives the readings that a symptom of the board file stands for; ok is
// false when there is none of that name.
func Symptom(m *predict.Simulator, usual netlist.Setting, name string) (list []Reading, ok bool, err error) {
	i := slices.Index(m.Board.SymptomNames(), name)
	if i < 0 {
		return nil, false, nil
	}
	for _, o := range m.Board.Symptoms[i].Seen {
		r, err := ParseIn(m, usual, m.Board.TargetName(o.Target)+"="+o.Word)
		if err != nil {
			return nil, true, err
		}
		list = append(list, r)
	}
	return list, true, nil
}

// ParseFile reads a file of readings: a reading or the name of a symptom a line;
// # begins a comment.
func ParseFile(m *predict.Simulator, usual netlist.Setting, name, text string) ([]Reading, []mistake.Mistake) {
	var list []Reading
	var problems []mistake.Mistake
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSuffix(line, "\r")
		body, _, _ := strings.Cut(line, "#")
		at := len(body) - len(strings.TrimLeft(body, " \t"))
		word := strings.TrimSpace(body)
		if word == "" {
			continue
		}
		p := mistake.Mistake{File: name, Line: i + 1, Column: utf8.RuneCountInString(line[:at]) + 1, Width: utf8.RuneCountInString(word), Text: line, Code: "reading"}
		if k := strings.IndexAny(word, " \t"); k >= 0 {
			p.Column += utf8.RuneCountInString(word[:k])
			p.Width = 1
			p.Msg, p.Want = "a line holds one reading, and a reading has no space in it", "a line for each, such as VBL=12.2V"
			problems = append(problems, p)
			continue
		}
		if named, ok, err := Symptom(m, usual, word); ok && err == nil {
			list = append(list, named...)
			continue
		}
		r, err := ParseIn(m, usual, word)
		if err == nil {
			list = append(list, r)
			continue
		}
		p.Msg = err.Error()
		var re *ReadingError
		if errors.As(err, &re) {
			p.Msg, p.Want, p.Near = re.Msg, re.Want, re.Near
			p.Column, p.Width = p.Column+re.From, re.Width
			if !strings.Contains(word, "=") && p.Near == "" {
				p.Near = mistake.Nearest(word, m.Board.SymptomNames())
			}
		}
		problems = append(problems, p)
	}
	return list, problems
}
