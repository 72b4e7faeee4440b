package edid

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// conformDump is a dump with what edid-decode 0.1 (SHA cb74358c2896 2022-03-30) says
// about it under --check; testdata/conform/README.md tells how it was made.
type conformDump struct {
	name  string
	data  []byte
	pass  bool
	fails []conformMessage
	sums  []string // the checksum lines, one a block
}

type conformMessage struct {
	block int // -1 for a message about all blocks
	text  string
}

// readConform reads the dumps and the recorded verdicts.
func readConform(t testing.TB) []conformDump {
	t.Helper()
	verdicts := readVerdicts(t)
	file, err := os.Open(filepath.Join("testdata", "conform", "dumps.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var dumps []conformDump
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		name, digits, _ := strings.Cut(lines.Text(), " ")
		data, err := hex.DecodeString(digits)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		d, ok := verdicts[name]
		if !ok {
			t.Fatalf("%s has no recorded verdict", name)
		}
		d.name, d.data = name, data
		dumps = append(dumps, d)
	}
	return dumps
}

func readVerdicts(t testing.TB) map[string]conformDump {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", "conform", "dumps.check.txt"))
	if err != nil {
		t.Fatal(err)
	}
	verdicts := map[string]conformDump{}
	blockLine := regexp.MustCompile(`^(?:Block (\d+), .*|EDID):$`)
	for part := range strings.SplitSeq(strings.TrimPrefix(string(raw), "== "), "\n== ") {
		lines := strings.Split(part, "\n")
		var d conformDump
		failing, block := false, 0
		for _, line := range lines[1:] {
			switch m := blockLine.FindStringSubmatch(line); {
			case strings.HasPrefix(line, "Checksum: "):
				d.sums = append(d.sums, line)
			case line == "Failures:" || line == "Warnings:":
				failing = line == "Failures:"
			case line == "EDID conformity: PASS":
				d.pass = true
			case m != nil:
				block = -1
				if m[1] != "" {
					block, _ = strconv.Atoi(m[1])
				}
			case failing && strings.HasPrefix(line, "  ") && !strings.HasPrefix(line, "   "):
				d.fails = append(d.fails, conformMessage{block, strings.TrimSpace(line)})
			}
		}
		verdicts[lines[0]] = d
	}
	return verdicts
}

// conformClass maps a class of failures of edid-decode to the rules here.
type conformClass struct {
	pattern string
	rules   string // any of these; empty where the class is not covered, with the reason in why
	why     string
}

func conformClasses() []conformClass {
	return []conformClass{
		{pattern: `Manufacturer name field contains garbage`, rules: "maker-letters"},
		{pattern: `does not support week|Invalid week`, rules: "week"},
		{pattern: `Unknown EDID major version`, rules: "version"},
		{pattern: `Color Bit Depth set to reserved`, rules: "input-depth"},
		{pattern: `Digital Video Interface Standard set to reserved`, rules: "input-interface input-reserved"},
		{pattern: `EDID 1.3 requires that the first detailed timing`, rules: "preferred-bit"},
		{pattern: `sRGB is signaled, but the chrom`, rules: "srgb-colours"},
		{pattern: `chromaticities match sRGB, but`, rules: "srgb-unsaid"},
		{pattern: `Use 0x0101 as the invalid`, rules: "standard-zero standard-narrow"},
		{pattern: `Missing preferred timing`, rules: "preferred-missing"},
		{pattern: `Missing Display Product Name`, rules: "name-missing"},
		{pattern: `Missing Display Range Limits`, rules: "limits-missing"},
		{pattern: `^Detailed Timing.*Pixelclock <`, rules: "timing-clock"},
		{pattern: `^Detailed Timing.*0 values in the video timing`, rules: "timing-active timing-blank timing-pulse timing-porch timing-sync"},
		{pattern: `^Detailed Timing.*0 or negative`, rules: "timing-active timing-blank timing-porch timing-sync timing-border"},
		{pattern: `Mismatch of image size|The DTD max image size`, rules: "timing-size"},
		{pattern: `Invalid detailed timing descriptor ordering`, rules: "order"},
		{pattern: `Has descriptor blocks other than`, rules: "order"},
		{pattern: `Monitor descriptor block has byte`, rules: "descriptor-zero"},
		{pattern: `Use Dummy Descriptor instead`, rules: "descriptor-empty"},
		{pattern: `Dummy block filled`, rules: "dummy-content"},
		{pattern: `Unknown Type 0x`, rules: "descriptor-tag"},
		{pattern: `Not allowed for EDID < 1.4`, rules: "descriptor-new"},
		{pattern: `^(Display Product|Alphanumeric).*Non-printable character`, rules: "text-character"},
		{pattern: `^(Display Product|Alphanumeric).*Non-space after newline`, rules: "text-padding"},
		{pattern: `^(Display Product|Alphanumeric).*trailing spaces`, rules: "text-end text-space"},
		{pattern: `^(Display Product|Alphanumeric).*Empty string`, rules: "text-empty"},
		{pattern: `Min vertical rate|Min horizontal freq`, rules: "limits-order"},
		{pattern: `Unknown range class|can't be combined|is not allowed for EDID`, rules: "limits-formula"},
		{pattern: `does not set max dotclock`, rules: "limits-clock"},
		{pattern: `Display Range Limits: (Byte 11|Bytes 12-17)`, rules: "limits-padding limits-gtf limits-formula"},
		{pattern: `CVT 3 Byte Timing Codes`, rules: "cvt-code"},
		{pattern: `EDID specified \d+ extension`, rules: "count"},
		{pattern: `requires a Block Map`, rules: "map-missing"},
		{pattern: `tag mismatch|Invalid block number`, rules: "map-tag"},
		{pattern: `Unknown Extension Block`, rules: "extension-tag extension-base extension-blank"},
		{pattern: `Deprecated extension block for EDID 2.0`, rules: "extension-old"},
		{pattern: `Invalid checksum`, rules: "checksum did-checksum did-length"},
		{pattern: `CTA-861 Extension revision`, rules: "cta-revision"},
		{pattern: `Non-zero byte 3`, rules: "cta-flags"},
		{pattern: `8-byte descriptors were never used`, rules: "cta-offset"},
		{pattern: `Extended tag cannot have zero`, rules: "cta-extended"},
		{pattern: `Offset is \d+, but should be`, rules: "cta-overrun cta-offset"},
		{pattern: `CTA-861 padding`, rules: "cta-padding cta-offset"},
		{pattern: `more Native DTDs`, rules: "cta-native"},
		{pattern: `Byte 3 must be the same`, rules: "cta-byte3"},
		{pattern: `Required 640x480p60`, rules: "cta-vga"},
		{pattern: `DisplayID length`, rules: "did-length"},
		{pattern: `exceeds the number of bytes remaining`, rules: "did-overrun"},
		{pattern: `Non-0 filler|Not enough bytes remain`, rules: "did-filler"},
		{pattern: `DisplayID padding`, rules: "did-padding did-length"},
		{pattern: `Use of DisplayID v`, rules: "did-tag"},
		{pattern: `^Video Timing Modes Type [17].*0 or negative`, rules: "did-porch"},

		{pattern: `^Product Serial Number Data Block`, why: "content of CTA data blocks is not checked"},
		{pattern: `more than one year in the future`, why: "hangs on the day of the test"},
		{pattern: `timings are out of range of the Monitor`, why: "covered for detailed timings only, not for standard ones"},
		{pattern: `^Standard Timing.*0 `, why: "comes from a formula, not from the bytes"},
		{pattern: `^(Video Capability|Colorimetry|HDR|Vendor-Specific|Audio|Video|Speaker|YCbCr).* Data Block`, why: "content of CTA data blocks is not checked"},
		{pattern: `Only one instance|Duplicate|Missing VCDB|Native progressive|Audio information|Unknown CTA`, why: "content of CTA data blocks is not checked"},
		{pattern: `DisplayID: |DisplayID Base Block|DisplayID Data Block|DisplayID Extension Block|Unknown Display Product Type|Product Identification`, why: "content of DisplayID data blocks is not checked"},
		{pattern: `Video Timing Modes.*Unknown aspect`, why: "content of DisplayID data blocks is not checked"},
		{pattern: `^(Display Capabities|Display Transfer|Digital Interface|Display Device|Miscellaneous|VESA Display Transfer|VESA Video Display)`, why: "content of this block is not checked"},
		{pattern: `^Invalid version \d`, why: "content of a display information extension is not checked"},
		{pattern: `^The HDMI Specification requires`, why: "HDMI has rules of its own, which are not checked"},
		{pattern: `Unknown Display Product Primary Use Case`, why: "content of DisplayID data blocks is not checked"},
		{pattern: `IT video formats`, why: "content of CTA data blocks is not checked"},
	}
}

// What edid-decode calls a failure in a block is reported here for the same block,
// as a failure or a warning. Four differences are accepted, each in the rules of its
// class or below:
//   - after a length, an offset or a formula that cannot be (did-length, cta-offset,
//     limits-formula) what hangs on it is not judged, and edid-decode judges on;
//   - edid-decode takes borders out of the blanking, so that with a border
//     (timing-border) it may find a porch of 0;
//   - with a version other than 1 it judges all by EDID 1.0.
func TestCheckFindsWhatEdidDecodeFails(t *testing.T) {
	classes := conformClasses()
	patterns := make([]*regexp.Regexp, len(classes))
	for i, c := range classes {
		patterns[i] = regexp.MustCompile(c.pattern)
	}
	hits := make([]int, len(classes))
	for _, d := range readConform(t) {
		found := Check(d.data)
		for _, m := range d.fails {
			i := slices.IndexFunc(patterns, func(p *regexp.Regexp) bool { return p.MatchString(m.text) })
			if i < 0 {
				t.Errorf("%s: no class for %q", d.name, m.text)
				continue
			}
			hits[i]++
			rules := strings.Fields(classes[i].rules)
			ok := slices.ContainsFunc(found, func(v Violation) bool {
				return (v.Block == m.block || m.block < 0) && slices.Contains(rules, v.Rule)
			})
			if len(rules) > 0 && !ok && d.data[18] == 1 {
				t.Errorf("%s: edid-decode says %q of block %d, wanted one of %v, found %v", d.name, m.text, m.block, rules, checkRulesOf(found))
			}
		}
	}
	for i, c := range classes {
		if hits[i] == 0 && c.rules != "" {
			t.Errorf("no dump shows %q: make one", c.pattern)
		}
	}
}

func checkRulesOf(found []Violation) []string {
	var rules []string
	for _, v := range found {
		rules = append(rules, fmt.Sprintf("%d:%s", v.Block, v.Rule))
	}
	return rules
}

// stricterRules are failures here in dumps that edid-decode passes.
func stricterRules() map[string]string {
	return map[string]string{
		"maker-reserved": "edid-decode does not look at bit 15 (E-EDID A.2, 3.4.1: reserved)",
		"text-padding":   "edid-decode lets printable characters behind 0A pass (E-EDID A.2, 3.10.3.1: padded with 20)",
	}
}

// Where edid-decode says PASS, nothing fails here.
func TestCheckPassesWhatEdidDecodePasses(t *testing.T) {
	passes := 0
	stricter := stricterRules()
	for _, d := range readConform(t) {
		if !d.pass {
			continue
		}
		passes++
		for _, v := range Check(d.data) {
			if _, ok := stricter[v.Rule]; v.Severity == Fails && !ok {
				t.Errorf("%s: %s: byte %02X: %s", d.name, v.Rule, v.Byte, v.Text)
			}
		}
	}
	if passes < 100 {
		t.Errorf("only %d dumps pass edid-decode; that is too few to mean something", passes)
	}
}

// The verdict over each checksum is that of edid-decode, value for value.
func TestSumsAgreeWithEdidDecode(t *testing.T) {
	dumps := readConform(t)
	if len(dumps) < 500 {
		t.Fatalf("only %d dumps", len(dumps))
	}
	wrong := 0
	for _, d := range dumps {
		var got []string
		for _, s := range Sums(d.data) {
			line := fmt.Sprintf("Checksum: 0x%02x", s.Have)
			if !s.OK {
				line += fmt.Sprintf(" (should be 0x%02x)", s.Want)
				wrong++
			}
			got = append(got, line)
		}
		if !slices.Equal(got, d.sums) {
			t.Errorf("%s: got %q, edid-decode says %q", d.name, got, d.sums)
		}
	}
	if wrong < 100 {
		t.Errorf("only %d wrong sums among the dumps", wrong)
	}
}

// The renderer writes every dump within its width, and the same each time.
func TestCheckTextOfAllDumps(t *testing.T) {
	for _, d := range readConform(t) {
		var one, two bytes.Buffer
		if err := CheckText(&one, d.data, true); err != nil {
			t.Fatal(err)
		}
		if err := CheckText(&two, bytes.Clone(d.data), true); err != nil {
			t.Fatal(err)
		}
		if one.String() != two.String() {
			t.Errorf("%s: two runs differ", d.name)
		}
		for line := range strings.SplitSeq(one.String(), "\n") {
			if len(line) > checkWidth {
				t.Errorf("%s: %d columns: %s", d.name, len(line), line)
			}
		}
	}
}
