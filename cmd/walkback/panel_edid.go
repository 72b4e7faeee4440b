package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/panel"
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
timings, the extension blocks; the checksum of each block, and which byte may be off;
and every rule of the standard that is broken, with its clause. Bytes that look like a
wire and not like a memory (all FF, all 00, shifted, an address line that is stuck) are
recognised, with what that points to on the board.

FILE may be binary, hex text in any layout, the output of xxd, hexdump, od, i2cdump,
edid-decode or reg query, rows of a kernel log, Intel HEX, or a list of numbers; - is standard input; the name of a board means the file that its panel
names. --compare reads the same memory again from other files: what changes between
reads is the line, not the memory. Data that are not sound (header, sums, a wire instead
of a memory) make the exit status 1; rules that their maker broke do not.`,
		Example: `  walkback panel edid panel.bin
  walkback panel edid larkspur13
  i2cdump -y 3 0x50 b | walkback panel edid -
  walkback panel edid first.txt --compare second.txt`,
		Args: func(cmd *cobra.Command, args []string) error {
			if err := needArg("a file with identity data is missing")(cmd, args); err != nil {
				return err
			}
			return oneArg(cmd, args)
		},
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

// edidJSON is the schema of panel edid --json; README.md documents it.
type edidJSON struct {
	Format     string             `json:"format"`
	Version    int                `json:"version"`
	Form       string             `json:"form"`
	Notes      []string           `json:"notes,omitempty"`
	Missing    []dump.Range       `json:"not_read,omitempty"`
	Findings   []rom.Finding      `json:"looks_like_a_wire"`
	Differ     []rom.Difference   `json:"differences,omitempty"`
	Between    *rom.Finding       `json:"between_reads,omitempty"`
	Checksums  []edid.BlockSum    `json:"checksums"`
	Suspects   []edid.ByteSuspect `json:"byte_off,omitempty"` // of the first block whose sum is wrong
	Violations []edid.Violation   `json:"violations"`
	Lines      []readLines        `json:"read_over,omitempty"`
	Repaired   bool               `json:"edid_is_of_the_repaired_bytes,omitempty"`
	EDID       *edid.EDID         `json:"edid,omitempty"`
}

func runPanelEDID(cmd *cobra.Command, arg string, o edidOpts) error {
	if sameFile(arg, o.repair) || slices.ContainsFunc(o.compare, func(c string) bool { return sameFile(c, o.repair) }) {
		return fmt.Errorf("%s is what was read from the memory: keep it, and name another file with --repaired", o.repair)
	}
	d, err := readDump(cmd, arg)
	if err != nil {
		return err
	}
	found := rom.Diagnose(d.Bytes, d.Missing)
	blocks, note := panel.Announced(d.Bytes)
	if note != "" {
		d.Notes = append(d.Notes, note)
	}
	j := edidJSON{
		Format: "walkback.edid", Version: 1, Form: d.Form.String(), Notes: d.Notes, Missing: d.Missing,
		Findings: append([]rom.Finding{}, found...), Checksums: append([]edid.BlockSum{}, edid.Sums(blocks)...), Violations: append([]edid.Violation{}, edid.Check(blocks)...),
	}
	if err := j.compare(cmd, arg, d.Bytes, o.compare); err != nil {
		return err
	}
	if err := j.on(cmd, arg, o.board); err != nil {
		return err
	}
	for _, s := range j.Checksums {
		if !s.OK && j.Suspects == nil && j.guess() {
			j.Suspects = edid.Suspects(blocks[s.Block*edid.BlockSize:][:edid.BlockSize])
		}
	}
	if err := j.decode(blocks); err != nil {
		return err
	}
	if o.json {
		err = trace.EncodeJSON(cmd.OutOrStdout(), j)
	} else {
		err = j.text(cmd.OutOrStdout(), len(d.Bytes), blocks)
	}
	if err == nil && cmd.Flags().Changed("repaired") {
		err = j.writeRepaired(o.repair)
	}
	if err == nil && j.wrong(blocks) {
		return errReported
	}
	return err
}

func readDump(cmd *cobra.Command, arg string) (dump.Dump, error) {
	name, data, err := identity(cmd, arg)
	if err != nil {
		return dump.Dump{}, err
	}
	return dump.Read(name, data)
}

// compare reads the memory again from other files.
func (j *edidJSON) compare(cmd *cobra.Command, arg string, first []byte, names []string) error {
	if len(names) == 0 {
		return nil
	}
	if len(j.Missing) > 0 {
		return fmt.Errorf("%s was not read whole, and only whole reads can be compared", arg)
	}
	var reads [][]byte
	for _, name := range names {
		d, err := readDump(cmd, name)
		if err != nil {
			return err
		}
		if len(d.Missing) > 0 {
			return fmt.Errorf("%s was not read whole, and only whole reads can be compared", name)
		}
		reads = append(reads, d.Bytes)
	}
	diff, f := rom.Compare(first, reads[0], reads[1:]...)
	j.Differ, j.Between = diff, &f
	return nil
}

// decode decodes the blocks, or the repaired bytes where the header is not that of
// identity data. Bytes that are a wire's mean nothing.
func (j *edidJSON) decode(blocks []byte) error {
	e, err := edid.Decode(blocks)
	if err != nil {
		return err
	}
	if voted := j.voted(); voted == nil && e.HeaderOK {
		if !j.torn() && !j.garbled() {
			j.EDID = e
		}
		return nil
	}
	repaired := j.repaired()
	if repaired == nil {
		return nil
	}
	repaired, _ = panel.Announced(repaired)
	j.EDID, err = edid.Decode(repaired)
	j.Repaired = true
	return err
}

// voted is what most of several reads say; nil when that settles nothing.
func (j *edidJSON) voted() []byte {
	if j.Between == nil || len(j.Between.Repaired) == 0 {
		return nil
	}
	return j.Between.Repaired
}

// garbled tells whether the bytes surely stand in places where the memory does not
// hold them.
func (j *edidJSON) garbled() bool {
	return slices.ContainsFunc(j.Findings, func(f rom.Finding) bool {
		return f.Certain && slices.Contains([]string{rom.StuckAddress, rom.RepeatedPage}, f.Pattern)
	})
}

// torn tells whether bytes are missing, which then are no bytes of the memory.
func (j *edidJSON) torn() bool {
	return len(j.Missing) > 0 || slices.ContainsFunc(j.Findings, func(f rom.Finding) bool {
		return f.Certain && slices.Contains([]string{rom.HalfRead, rom.ShortRead, rom.PartAnswered, rom.NotAnswered}, f.Pattern)
	})
}

// guess tells whether a sum that is wrong may come from one byte: not when the bytes
// show another fault.
func (j *edidJSON) guess() bool {
	return !slices.ContainsFunc(j.Findings, func(f rom.Finding) bool {
		return !slices.Contains([]string{rom.SumWrong, rom.HeaderHurt, rom.NoExtension}, f.Pattern)
	})
}

// repaired is what most reads say, or what the likeliest fault that can be undone
// leaves; nil for none.
func (j *edidJSON) repaired() []byte {
	if voted := j.voted(); voted != nil {
		return voted
	}
	for _, f := range j.Findings {
		if len(f.Repaired) > 0 {
			return f.Repaired
		}
	}
	return nil
}

func (j *edidJSON) writeRepaired(name string) error {
	if repaired := j.repaired(); repaired != nil {
		return writeFile(name, repaired)
	}
	return &exitError{exitBoard, errors.New("nothing here can be undone, so " + name + " is not written")}
}

// wrong tells whether the data are damaged or not a memory's. Rules that their maker
// broke do not count.
func (j *edidJSON) wrong(blocks []byte) bool {
	return !edid.Sound(blocks) || slices.ContainsFunc(j.Findings, func(f rom.Finding) bool { return f.Certain })
}

func (j *edidJSON) text(out io.Writer, n int, data []byte) error {
	fmt.Fprintf(out, "read as %s, %d bytes\n", j.Form, n)
	for _, note := range j.Notes {
		fmt.Fprintf(out, "note: %s\n", note)
	}
	if j.Between != nil {
		fmt.Fprintln(out)
		if err := rom.Text(out, []rom.Finding{*j.Between}); err != nil {
			return err
		}
	}
	if len(j.Findings) > 0 {
		fmt.Fprintln(out)
		if err := rom.Text(out, j.Findings); err != nil {
			return err
		}
	}
	if j.repaired() != nil {
		fmt.Fprintln(out, "\nThe repaired bytes: --repaired FILE writes them, and walkback panel edid FILE reads them.")
	}
	for _, l := range j.Lines {
		l.text(out)
	}
	if j.Repaired {
		fmt.Fprintln(out, "\nThe repaired bytes say:")
	}
	if j.EDID != nil {
		fmt.Fprintln(out)
		if err := edid.Text(out, j.EDID); err != nil {
			return err
		}
	}
	if j.torn() {
		fmt.Fprintln(out, "\nBytes were not read, so nothing is decoded: read the memory again, whole.")
	}
	if j.EDID == nil || j.Repaired {
		return nil
	}
	fmt.Fprintln(out)
	return edid.CheckText(out, data, j.guess())
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
	b, isBoard, err := (*netlist.Board)(nil), false, error(nil)
	switch {
	case board != "":
		b, err = loadBoard(cmd, board)
	case len(j.Findings) > 0:
		b, isBoard, err = boardArg(cmd, arg)
		if !isBoard {
			return err
		}
		board = arg
	default:
		return nil
	}
	if err != nil {
		return err
	}
	for i := range b.Parts {
		p := &b.Parts[i]
		for _, r := range p.Rules {
			if r.Word == "reads" && strings.Contains(strings.ToUpper(b.Facts[r.Fact].Name), "ID") {
				from := &b.Parts[r.From]
				l := readLines{Fact: b.Facts[r.Fact].Name, Reader: p.Name, From: from.Name, Walk: fmt.Sprintf("walkback trace %s %s=unread", board, b.Facts[r.Fact].Name)}
				for _, n := range r.Nets {
					l.Lines = append(l.Lines, b.Nets[n].Name)
				}
				for _, c := range from.Conns {
					switch pin := from.Pin(c); {
					case pin.Need == netlist.Supply:
						l.Supply = append(l.Supply, b.Nets[c.Net].Name)
					case pin.Name == "scl" || pin.Name == "sda":
						l.Ends = append(l.Ends, b.Nets[c.Net].Name)
					}
				}
				j.Lines = append(j.Lines, l)
			}
		}
	}
	return nil
}

func (l readLines) text(out io.Writer) {
	fmt.Fprintf(out, "\n%s is read by %s from %s over %s", l.Fact, l.Reader, l.From, strings.Join(l.Lines, ", "))
	if len(l.Ends) > 0 {
		fmt.Fprintf(out, " (at the panel %s)", strings.Join(l.Ends, ", "))
	}
	fmt.Fprintf(out, "; supply of %s: %s\n  %s tells every part on the way\n", l.From, strings.Join(l.Supply, ", "), l.Walk)
}
