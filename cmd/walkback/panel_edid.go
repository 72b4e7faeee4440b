package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/dump"
	"example.org/walkback/trace/panel/edid"
	"example.org/walkback/trace/panel/rom"
	"github.com/spf13/cobra"
)

type edidOpts struct {
	board   string
	compare []string
	repair  string
	json    bool
}

func newPanelEDIDCmd() *cobra.Command {
	var o edidOpts
	cmd := &cobra.Command{
		Use:   "edid FILE|BOARD|-",
		Short: "The identity data of a panel, and what is wrong with them",
		Long: `Edid decodes the identity data of a panel: who made it, its size, depth, interface and
timings; it says whether the sums are right, and which byte is off where that can be told.
Bytes that look like a wire and not like a memory (all FF, all 00, shifted, broken off, blocks
that repeat) are recognised, with what that points to on the board.

FILE may be binary, hex text in any layout, a C array, the output of edid-decode, or rows
with an offset as xxd, hexdump -C and i2cdump print them; - is standard input; the
name of a board means the file that its panel names. --compare reads the same memory again
from other files: what changes between reads is the line, not the memory, and what most
reads say is gone on with. Data that are not sound (header, sums, a wire instead of a
memory) and reads that differ make the exit status 1; an extension that was announced and
not read does not.`,
		Example: `  walkback panel edid panel.bin
  walkback panel edid larkspur13
  i2cdump -y 3 0x50 b | walkback panel edid -
  walkback panel edid first.txt --compare second.txt`,
		Args:              cobra.MatchAll(needArg("a file with identity data is missing"), oneArg),
		ValidArgsFunction: completePanel,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPanelEDID(cmd, args[0], o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.board, "board", "", "the board that read it: its lines are named, and how to walk on")
	completeFlag(cmd, "board", completeBoards)
	f.StringArrayVar(&o.compare, "compare", nil, "another read of the same memory; repeat for several")
	f.StringVar(&o.repair, "repaired", "", "write the bytes as they should have been to this file, where the fault can be undone")
	f.BoolVar(&o.json, "json", false, "print as JSON")
	return cmd
}

// edidJSON is the schema of panel edid --json; JSON.md documents it.
type edidJSON struct {
	Format   string           `json:"format"`
	Version  int              `json:"version"`
	Form     dump.Form        `json:"form"`
	Notes    []string         `json:"notes,omitempty"`
	Missing  []dump.Range     `json:"not_read,omitempty"`
	Differ   []rom.Difference `json:"differences,omitempty"`
	Between  *rom.Finding     `json:"between_reads,omitempty"`
	Findings []rom.Finding    `json:"looks_like_a_wire"`
	edid.Check
	Lines    []readOver `json:"read_over,omitempty"` // of the board that read it
	Repaired bool       `json:"edid_is_of_the_repaired_bytes,omitempty"`
	EDID     *edid.EDID `json:"edid,omitempty"`

	memory   []byte // what all but the differences are about: the read, or the best of several
	blocks   []byte // of that, without what stands behind the announced blocks
	repaired []byte // the bytes as they should have been; nil for none
	how      string // the repair, where it is a guess
}

func runPanelEDID(cmd *cobra.Command, arg string, o edidOpts) error {
	if sameFile(arg, o.repair) || slices.ContainsFunc(o.compare, func(c string) bool { return sameFile(c, o.repair) }) {
		return fmt.Errorf("%s is what was read from the memory: keep it, and name another file with --repaired", o.repair)
	}
	d, err := readDump(cmd, arg)
	if err != nil {
		return err
	}
	j := edidJSON{Format: "walkback.edid", Version: 4, Form: d.Form, Notes: d.Notes, Missing: d.Missing, memory: d.Bytes}
	if err := j.compare(cmd, arg, o.compare); err != nil {
		return err
	}
	if err := j.judge(); err != nil {
		return err
	}
	if err := j.on(cmd, arg, o.board); err != nil {
		return err
	}
	// Written before anything is printed: who reads that may have enough early.
	unwritten := error(nil)
	switch {
	case !cmd.Flags().Changed("repaired"):
	case j.repaired == nil:
		unwritten = &exitError{exitBoard, errors.New("nothing here can be undone, so " + o.repair + " is not written")}
	default:
		if err := writeFile(o.repair, j.repaired); err != nil {
			return err
		}
	}
	if o.json {
		err = say.JSON(cmd.OutOrStdout(), j)
	} else {
		w := say.NewWriter(cmd.OutOrStdout())
		j.text(w, len(d.Bytes))
		err = w.Flush()
	}
	switch {
	case err != nil:
		return err
	case unwritten != nil:
		return unwritten
	case j.wrong():
		return errReported
	}
	return nil
}

func readDump(cmd *cobra.Command, arg string) (dump.Dump, error) {
	name, data, err := identity(cmd, arg)
	if err != nil {
		return dump.Dump{}, err
	}
	return dump.Read(name, data)
}

// compare reads the memory again from other files, and goes on with what most reads
// have, or with a read that is right.
func (j *edidJSON) compare(cmd *cobra.Command, arg string, names []string) error {
	if len(names) == 0 {
		return nil
	}
	torn, reads := j.Missing, [][]byte{j.memory}
	for _, name := range names {
		d, err := readDump(cmd, name)
		if err != nil {
			return err
		}
		if torn == nil && d.Missing != nil {
			torn, arg = d.Missing, name
		}
		reads = append(reads, d.Bytes)
	}
	if torn != nil {
		return fmt.Errorf("%s was not read whole, and only whole reads can be compared", arg)
	}
	f := rom.Compare(reads...)
	j.Differ, j.Between = f.Differ, &f
	if f.Best != nil {
		j.memory = f.Best
	}
	return nil
}

// judge finds out what the memory shows, what can be undone, and what it says.
func (j *edidJSON) judge() error {
	var note string
	if j.blocks, note = edid.Announced(j.memory); note != "" {
		j.Notes = append(j.Notes, note)
	}
	j.Findings = append([]rom.Finding{}, rom.Diagnose(j.memory, j.Missing)...)
	j.Check = edid.Judge(j.blocks, j.guess())
	j.repair()
	e, err := edid.Decode(j.blocks)
	switch {
	case err != nil:
		return err
	case e.HeaderOK && (j.torn() || j.found(rom.RepeatedPage)): // bytes of a wire mean nothing
	case e.HeaderOK:
		j.EDID = e
	case j.repaired != nil:
		j.Repaired = true
		blocks, _ := edid.Announced(j.repaired)
		j.EDID, err = edid.Decode(blocks)
	}
	return err
}

// repair undoes what the likeliest fault did; where none can be undone, it changes the
// byte that stands out, and else takes what most of several reads say.
func (j *edidJSON) repair() {
	for _, f := range j.Findings {
		if len(f.Repaired) > 0 {
			j.repaired = f.Repaired
			return
		}
	}
	switch {
	case j.Suspect != nil:
		mended := slices.Clone(j.memory)
		mended[j.Suspect.Block*edid.BlockSize+j.Suspect.Byte] = j.Suspect.Want
		if edid.Sound(mended) {
			j.repaired, j.how = mended, fmt.Sprintf(" They are a guess: byte %02X of block %d was changed.", j.Suspect.Byte, j.Suspect.Block)
		}
	case j.Between != nil && len(j.Between.Repaired) > 0:
		j.repaired = j.Between.Repaired
	}
}

// found reports whether one of some patterns is certain.
func (j *edidJSON) found(patterns ...string) bool {
	return slices.ContainsFunc(j.Findings, func(f rom.Finding) bool { return f.Certain && slices.Contains(patterns, f.Pattern) })
}

// torn reports whether bytes are missing, which then are no bytes of the memory.
func (j *edidJSON) torn() bool {
	return len(j.Missing) > 0 || j.found(rom.HalfRead, rom.ShortRead, rom.PartAnswered, rom.NotAnswered)
}

// guess reports whether a sum that is wrong may come from one byte: not when the bytes
// show another fault.
func (j *edidJSON) guess() bool {
	return !slices.ContainsFunc(j.Findings, func(f rom.Finding) bool { return f.Pattern != rom.HeaderHurt })
}

// wrong reports whether the data are damaged or not a memory's, or reads differ. Rules
// that their maker broke do not count.
func (j *edidJSON) wrong() bool {
	return len(j.Wrong) > 0 || len(j.Differ) > 0 || slices.ContainsFunc(j.Findings, func(f rom.Finding) bool { return f.Certain })
}

func (j *edidJSON) text(w *say.Writer, n int) {
	fmt.Fprintf(w, "read as %s, %d bytes\n", j.Form, n)
	for _, note := range j.Notes {
		w.Hang("note: ", "  ", note)
	}
	found := j.Findings
	if j.Between != nil {
		found = append([]rom.Finding{*j.Between}, found...)
	}
	if len(found) > 0 {
		fmt.Fprintln(w)
		rom.Text(w, found)
	}
	if j.repaired != nil {
		fmt.Fprintln(w)
		w.Hang("", "", "The repaired bytes: --repaired FILE writes them, and walkback panel edid FILE reads them."+j.how)
	}
	for _, l := range j.Lines {
		fmt.Fprintln(w)
		w.Hang("", "  ", l.Says)
		fmt.Fprintf(w, "  %s tells every part on the way\n", l.Walk)
	}
	if j.Repaired {
		fmt.Fprintln(w, "\nThe repaired bytes say:")
	}
	if j.EDID != nil {
		fmt.Fprintln(w)
		edid.Text(w, j.EDID)
	}
	if j.torn() {
		fmt.Fprintln(w, "\nBytes were not read, so nothing is decoded: read the memory again, whole.")
	}
	if j.EDID != nil && !j.Repaired {
		fmt.Fprintln(w)
		j.Text(w)
	}
}

// readOver is how a board reads the identity of its panel.
type readOver struct {
	Says string `json:"says"`
	Walk string `json:"walk"`
}

// on names the lines over which a board read the memory: the board of the flag, or
// the one that the argument means. They are of interest when something is wrong.
func (j *edidJSON) on(cmd *cobra.Command, arg, board string) error {
	b, isBoard, err := (*netlist.Board)(nil), true, error(nil)
	switch {
	case board != "":
		b, err = loadBoard(cmd, board)
	case len(j.Findings) == 0:
		return nil
	default:
		board = arg
		b, isBoard, err = boardArg(cmd, arg)
	}
	if err != nil || !isBoard {
		return err
	}
	for i := range b.Parts {
		for _, r := range b.Parts[i].Rules {
			if r.Word == "reads" && strings.Contains(strings.ToUpper(b.Facts[r.Fact].Name), "ID") {
				j.Lines = append(j.Lines, readOver{says(b, b.Parts[i].Name, r), fmt.Sprintf("walkback trace %s %s=unread", board,
					b.Facts[r.Fact].Name)})
			}
		}
	}
	return nil
}

// says tells over what one part reads another, the clock first.
func says(b *netlist.Board, reader string, r netlist.Rule) string {
	names := func(nets []netlist.NetID) string {
		words := make([]string, len(nets))
		for i, n := range nets {
			words[i] = b.Nets[n].Name
		}
		return strings.Join(words, ", ")
	}
	from, at := &b.Parts[r.From], ""
	if len(r.At) > 0 {
		at = fmt.Sprintf(" (at the panel %s)", names(r.At))
	}
	var supply []netlist.NetID
	for _, c := range from.Conns {
		if from.Pin(c).Need == netlist.Supply {
			supply = append(supply, c.Net)
		}
	}
	return fmt.Sprintf("%s is read by %s from %s over %s%s; supply of %s: %s", b.Facts[r.Fact].Name, reader, from.Name, names(r.Nets), at,
		from.Name, names(supply))
}
