package predict

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
)

// Reports simulates a board in each of its states, but no more than mostStates.
func (p *Predictor) Reports(unplugged bool, faults ...Fault) ([]*Report, error) {
	var list []*Report
	for st := range States(p.Board) {
		if len(list) == mostStates {
			break
		}
		st.Unplugged = unplugged
		r, err := p.Report(st, faults...)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

// stateRow is what changes between states: a net, a lane or a fact.
type stateRow struct {
	name  string
	cells []string // of each report
	same  []int    // for each report the first one that reads alike
}

func newStateRow(name string, n int, text func(int) string, alike func(a, b int) bool) (r stateRow, changes bool) {
	r = stateRow{name, make([]string, n), make([]int, n)}
	for i := range n {
		r.cells[i] = text(i)
		for r.same[i] < i && !alike(r.same[i], i) {
			r.same[i]++
		}
		changes = changes || r.same[i] != 0
	}
	return r, changes
}

// stateRows collects what changes between the states of reports.
func stateRows(list []*Report, pick *Pick) (nets, seen []stateRow) {
	b := list[0].Board
	for k := range list[0].Nets {
		x := func(i int) *NetReadings { return &list[i].Nets[k] }
		text := func(i int) string {
			t := x(i).Volts.String()
			if a := x(i).Activity; a.Word != Quiet {
				t += " ~" + short(a.Value)
			}
			return t
		}
		alike := func(a, b int) bool { return x(a).Volts.Alike(x(b).Volts) && x(a).Activity.Alike(x(b).Activity) }
		if !pick.net(b, x(0).Net) {
			continue
		}
		if r, changes := newStateRow(b.Nets[x(0).Net].Name, len(list), text, alike); changes {
			nets = append(nets, r)
		}
	}
	for k := range list[0].Facts {
		text := func(i int) string { return list[i].Facts[k].Shows.Word }
		if r, changes := newStateRow(list[0].Facts[k].Name, len(list), text, func(a, b int) bool { return text(a) == text(b) }); changes &&
			pick == nil {
			seen = append(seen, r)
		}
	}
	return nets, seen
}

// WriteStates prints what changes between states, states in which all is alike
// in one column.
func WriteStates(out io.Writer, list []*Report, pick *Pick) error {
	o := say.NewWriter(out)
	b := list[0].Board
	b.WriteHead(o)
	if len(list[0].Names) > 0 {
		o.Beside("fault     ", strings.Join(list[0].Names, ", "))
	}
	nets, seen := stateRows(list, pick)
	var columns [][]int
	at := map[string]int{}
	for i := range list {
		var key strings.Builder
		for _, r := range slices.Concat(nets, seen) {
			fmt.Fprint(&key, r.same[i], " ")
		}
		c, ok := at[key.String()]
		if !ok {
			c = len(columns)
			at[key.String()] = c
			columns = append(columns, nil)
		}
		columns[c] = append(columns[c], i)
	}
	fmt.Fprintf(o, "\nThe states, %s:\n", list[0].State.PanelText())
	for c, members := range columns {
		names := make([]string, len(members))
		for k, i := range members {
			names[k] = b.SettingText(list[i].State.Setting)
		}
		o.Beside(fmt.Sprintf("  %-3s", columnName(c)), strings.Join(names, "; "))
	}
	if len(list) == mostStates {
		fmt.Fprintf(o, "  and no more than the first %d states\n", mostStates)
	}
	if len(columns) == 1 {
		fmt.Fprintln(o, "\nNothing changes between them.")
		return o.Flush()
	}
	writeColumns(o, "What changes, in DC volts; ~ moves by so many volts peak to peak", nets, columns)
	writeColumns(o, "Lanes, and what is seen without a meter", seen, columns)
	return o.Flush()
}

func columnName(c int) string {
	if c < 26 {
		return string(rune('A' + c))
	}
	return fmt.Sprint(c + 1)
}

// writeColumns prints rows in as many tables as keep lines short.
func writeColumns(o *say.Writer, title string, rows []stateRow, columns [][]int) {
	if len(rows) == 0 {
		return
	}
	fmt.Fprintln(o)
	o.Beside("", title)
	t := &say.Table{Indent: "  ", Head: 1, Blocks: true, Rows: [][]say.Cell{say.Row("")}}
	for c := range columns {
		t.Rows[0] = append(t.Rows[0], say.Cell{Text: columnName(c)})
	}
	for _, r := range rows {
		row := say.Row(r.name)
		for _, members := range columns {
			row = append(row, say.Cell{Text: r.cells[members[0]]})
		}
		t.Rows = append(t.Rows, row)
	}
	o.Table(t)
}
