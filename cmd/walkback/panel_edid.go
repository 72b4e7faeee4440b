package main

import (
	"errors"
	"fmt"
	"io"
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
	Format    string           `json:"format"`
	Version   int              `json:"version"`
	Form      dump.Form        `json:"form"`
	Notes     []string         `json:"notes,omitempty"`
	Missing   []dump.Range     `json:"not_read,omitempty"`
	Differ    []rom.Difference `json:"differences,omitempty"`
	Between   *rom.Finding     `json:"between_reads,omitempty"`
	Findings  []rom.Finding    `json:"looks_like_a_wire"`
	Checksums []edid.BlockSum  `json:"checksums"`
	Wrong     []string         `json:"unsound,omitempty"`   // why the read is not sound
	Remarks   []string         `json:"remarks,omitempty"`   // of a read that is sound
	Suspect   *edid.Suspect    `json:"byte_off,omitempty"`  // of the first block whose sum is wrong, when one byte stands out
	Lines     []readLines      `json:"read_over,omitempty"` // of the board that read it
	Repaired  bool             `json:"edid_is_of_the_repaired_bytes,omitempty"`
	EDID      *edid.EDID       `json:"edid,omitempty"`

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
		err = j.text(cmd.OutOrStdout(), len(d.Bytes))
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
	j.Checksums = append([]edid.BlockSum{}, edid.Sums(j.blocks)...)
	j.Wrong, j.Remarks = edid.Faults(j.blocks)
	bad := slices.IndexFunc(j.Checksums, func(s edid.BlockSum) bool { return !s.OK })
	if bad >= 0 && j.guess() {
		if s, ok := edid.FindSuspect(j.blocks, bad); ok {
			j.Suspect = &s
		}
	}
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
	return !slices.ContainsFunc(j.Findings, func(f rom.Finding) bool {
		return !slices.Contains([]string{rom.SumWrong, rom.HeaderHurt, rom.NoExtension}, f.Pattern)
	})
}

// wrong reports whether the data are damaged or not a memory's, or reads differ. Rules
// that their maker broke do not count.
func (j *edidJSON) wrong() bool {
	return len(j.Wrong) > 0 || len(j.Differ) > 0 || slices.ContainsFunc(j.Findings, func(f rom.Finding) bool { return f.Certain })
}

func (j *edidJSON) text(out io.Writer, n int) error {
	w := say.NewWriter(out)
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
		if err := errors.Join(w.Flush(), rom.Text(out, found)); err != nil {
			return err
		}
	}
	if j.repaired != nil {
		fmt.Fprintln(w)
		w.Hang("", "", "The repaired bytes: --repaired FILE writes them, and walkback panel edid FILE reads them."+j.how)
	}
	for _, l := range j.Lines {
		l.text(w)
	}
	if j.Repaired {
		fmt.Fprintln(w, "\nThe repaired bytes say:")
	}
	if j.EDID != nil {
		fmt.Fprintln(w)
		if err := errors.Join(w.Flush(), edid.Text(out, j.EDID)); err != nil {
			return err
		}
	}
	if j.torn() {
		fmt.Fprintln(w, "\nBytes were not read, so nothing is decoded: read the memory again, whole.")
	}
	if j.EDID == nil || j.Repaired {
		return w.Flush()
	}
	fmt.Fprintln(w)
	return errors.Join(w.Flush(), edid.CheckText(out, j.blocks, j.guess()))
}

// readLines is how a board reads the identity of its panel.
type readLines struct {
	Fact   string   `json:"fact"`
	Reader string   `json:"reader"`
	From   string   `json:"from"`
	Lines  []string `json:"lines"` // clock first, as the rule names them
	Ends   []string `json:"lines_at_the_panel"`
	Supply []string `json:"supply"`
	Walk   string   `json:"walk"`
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
				j.Lines = append(j.Lines, linesOf(b, b.Parts[i].Name, r, board))
			}
		}
	}
	return nil
}

// linesOf tells over what one part reads another.
func linesOf(b *netlist.Board, reader string, r netlist.Rule, board string) readLines {
	from, fact := &b.Parts[r.From], b.Facts[r.Fact].Name
	l := readLines{Fact: fact, Reader: reader, From: from.Name, Lines: netNames(b, r.Nets), Ends: netNames(b, r.At),
		Walk: fmt.Sprintf("walkback trace %s %s=unread", board, fact)}
	for _, c := range from.Conns {
		if from.Pin(c).Need == netlist.Supply {
			l.Supply = append(l.Supply, b.Nets[c.Net].Name)
		}
	}
	return l
}

func netNames(b *netlist.Board, list []netlist.NetID) []string {
	names := make([]string, len(list))
	for i, n := range list {
		names[i] = b.Nets[n].Name
	}
	return names
}

func (l readLines) text(w *say.Writer) {
	at := ""
	if len(l.Ends) > 0 {
		at = fmt.Sprintf(" (at the panel %s)", strings.Join(l.Ends, ", "))
	}
	fmt.Fprintln(w)
	w.Hang("", "  ", fmt.Sprintf("%s is read by %s from %s over %s%s; supply of %s: %s", l.Fact, l.Reader, l.From,
		strings.Join(l.Lines, ", "), at, l.From, strings.Join(l.Supply, ", ")))
	fmt.Fprintf(w, "  %s tells every part on the way\n", l.Walk)
}
