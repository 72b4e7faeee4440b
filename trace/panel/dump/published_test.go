package dump

import (
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/mistake"
)

func load(t testing.TB, file string) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The outputs are of xxd 2022-01-14, hexdump of util-linux 2.38.1 and od of GNU
// coreutils 9.1; testdata/make.sh made them from the binary files.
func TestOutputsOfTools(t *testing.T) {
	forms := map[string]Form{
		"bin": Binary, "xxd": Table, "xxd-a": Table, "xxd-g1": Table, "xxd-p": Hex, "xxd-i": Array,
		"hexdump-C": Table, "od-x": Table,
	}
	for _, base := range []string{"4524225C4E1F", "739DB2CFE9C4", "full"} {
		want := load(t, base+".bin")
		for ext, form := range forms {
			t.Run(base+"."+ext, func(t *testing.T) {
				got, err := Read(base+"."+ext, load(t, base+"."+ext))
				if err != nil {
					t.Fatal(err.(mistake.Mistake).Report()) //nolint:errorlint // Read promises this type
				}
				if diff := cmp.Diff(want, got.Bytes); diff != "" {
					t.Error(diff)
				}
				if got.Form != form || got.Missing != nil {
					t.Errorf("form %v, missing %v, want %v, nothing", got.Form, got.Missing, form)
				}
			})
		}
		for _, ext := range []string{"hexdump-words", "od-words", "od-o"} {
			t.Run(base+"."+ext, func(t *testing.T) {
				_, err := Read(base, load(t, base+"."+ext))
				if p := problem(t, err); p.Code != "word-mode" {
					t.Error(p.Report())
				}
			})
		}
	}
}

// The files of the data set linuxhw/EDID as they are, see testdata/README.md.
func TestDescribedFiles(t *testing.T) {
	for _, base := range []string{"4524225C4E1F", "739DB2CFE9C4"} {
		got, err := Read(base, load(t, base+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		want := Dump{Bytes: load(t, base+".bin"), Form: Described}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
	}
}

// The layout follows the printf calls of tools/i2cdump.c, i2c-tools 4.2: the
// warnings go to stderr and stand before the table when both are captured.
const i2cdumpText = `No size specified (using byte-data access)
WARNING! This program can confuse your I2C bus, cause data loss and worse!
I will probe file /dev/i2c-1, address 0x50, mode byte
Continue? [Y/n] 
     0  1  2  3  4  5  6  7  8  9  a  b  c  d  e  f    0123456789abcdef
00: 00 ff ff ff ff ff ff 00 09 e5 XX XX 00 00 00 00    ........??XX....
10: 01 18 01 04 95 1c 10 78 02 b0 90 97 58 54 92 26    ?????????.??XT?&
`

func TestI2CDumpTable(t *testing.T) {
	got, err := Read("dump", []byte(i2cdumpText))
	if err != nil {
		t.Fatal(err)
	}
	want := append([]byte(nil), load(t, "4524225C4E1F.bin")[:32]...)
	want[10], want[11] = Filler, Filler
	if diff := cmp.Diff(want, got.Bytes); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]Range{{10, 12}}, got.Missing); diff != "" || got.Form != Table {
		t.Error(got.Form, diff)
	}
	if !strings.Contains(strings.Join(got.Notes, "\n"), "4 lines before the table passed over") {
		t.Error(got.Notes)
	}
}

// i2cdump -r 0x12-0x21 prints blanks for the cells outside the range.
func TestI2CDumpRange(t *testing.T) {
	text := "     0  1  2  3  4  5  6  7  8  9  a  b  c  d  e  f    0123456789abcdef\n" +
		"10:       01 04 95 1c 10 78 02 b0 90 97 58 54 92 26      ?????x????XT?&\n" +
		"20: 1d 50                                              ?P              \n"
	got, err := Read("dump", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]Range{{0, 0x12}}, got.Missing); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(load(t, "4524225C4E1F.bin")[0x12:0x22], got.Bytes[0x12:]); diff != "" {
		t.Error(diff)
	}
}

// i2cdump in word mode, header of tools/i2cdump.c, i2c-tools 4.2.
func TestI2CDumpWords(t *testing.T) {
	_, err := Read("dump", []byte("     0,8  1,9  2,a  3,b  4,c  5,d  6,e  7,f\n00: ff00 ffff ffff ffff ffff ffff 00ff 0900 \n"))
	if p := problem(t, err); p.Code != "word-mode" || p.Line != 1 {
		t.Error(p.Report())
	}
}

func problem(t testing.TB, err error) mistake.Mistake {
	t.Helper()
	var p mistake.Mistake
	if !errors.As(err, &p) {
		t.Fatalf("error %v is no mistake.Mistake", err)
	}
	return p
}
