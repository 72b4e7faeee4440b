package view

import (
	"fmt"
	"slices"
)

// Numbered is one tile of the sheet: faults that look equal in every test field.
type Numbered struct {
	Number int     `json:"number"` // 1 is the healthy link
	Faults []Fault `json:"faults"`
	Look   Look    `json:"look"`
}

// sheetFaults are the faults of single lanes, and those of the whole link. One
// open conductor and swapped pairs have no tile.
func sheetFaults(l Link) []Fault {
	var fs []Fault
	for _, f := range Singles(l) {
		if f.Kind != Stuck && f.Kind != Leg && f.Kind != Swapped {
			fs = append(fs, f)
		}
	}
	return fs
}

// NumberedLooks are the tiles of Sheet in its order.
func NumberedLooks(l Link) ([]Numbered, error) {
	healthy, err := Describe(l, nil)
	if err != nil {
		return nil, err
	}
	all := []Numbered{{Number: 1, Look: healthy}}
	at := map[string]int{healthy.exact: 0}
	for _, f := range sheetFaults(l) {
		k, err := Describe(l, []Fault{f})
		if err != nil {
			return nil, err
		}
		i, ok := at[k.exact]
		if !ok {
			i = len(all)
			at[k.exact] = i
			all = append(all, Numbered{Number: i + 1, Look: k})
		}
		all[i].Faults = append(all[i].Faults, f)
	}
	return all, nil
}

// tile is a tile of the sheet by its number.
func tile(l Link, number int) (Numbered, error) {
	all, err := NumberedLooks(l)
	if err != nil {
		return Numbered{}, err
	}
	if number < 1 || number > len(all) {
		return Numbered{}, fmt.Errorf("tile %d: the sheet of this link has tiles 1 to %d", number, len(all))
	}
	return all[number-1], nil
}

// SeenByNumber are the answers that a tile of the sheet stands for. Other faults
// may fit them too; SuspectNumber takes the very tile.
func SeenByNumber(l Link, number int) (Seen, error) {
	n, err := tile(l, number)
	if err != nil {
		return nil, err
	}
	return n.Look.Seen(), nil
}

// SuspectNumber gives the faults that look exactly like a tile of the sheet in all
// test fields and ramps, as one group. Faults without a tile of their own, stuck
// and swapped pairs, are among them; a pair with one conductor open is not, as it
// gives specks, and no tile has those.
func SuspectNumber(l Link, number int) ([]Suspicion, error) {
	n, err := tile(l, number)
	if err != nil {
		return nil, err
	}
	all, err := everyLook([]Link{l})
	if err != nil {
		return nil, err
	}
	s := Suspicion{members: slices.DeleteFunc(all, func(m member) bool { return m.look.exact != n.Look.exact })}
	s.settle()
	return []Suspicion{s}, nil
}
