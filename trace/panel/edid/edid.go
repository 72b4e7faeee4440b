// Package edid decodes the identity data of a display panel as far as they tell what
// the panel wants, says whether they were read right, and which byte may be wrong.
//
//	e, err := edid.Decode(data)
//	best, ok := e.Preferred()
//
// It reads the base block of VESA E-EDID (releases 1.0 to 1.4), the detailed timings
// of CTA-861, and of DisplayID 1.x and 2.x timings, size, depth and power sequence.
// What is about sound, television, colour and limits is skipped. Decode never panics,
// whatever the bytes are, and takes what a wrong byte says as it stands: whether they
// are right is a question for Judge.
package edid

import (
	"errors"
	"fmt"

	"example.org/walkback/trace/panel/mode"
)

// BlockSize is the length of each block in bytes (VESA E-EDID).
const BlockSize = 128

// Header starts every base block, its bytes 0 to 7 (VESA E-EDID).
func Header() []byte { return []byte{0, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0} }

// Sum is the sum of the bytes modulo 256; 0 for a sound block (VESA E-EDID).
func Sum(b []byte) byte {
	var sum byte
	for _, v := range b {
		sum += v
	}
	return sum
}

// EDID is the identity data of a panel. Its JSON form is documented by the names
// of the fields: units stand in the name, what is not told is left out.
type EDID struct {
	Bytes      int  `json:"bytes"`               // given to Decode
	Truncated  bool `json:"truncated,omitempty"` // the data ends before the last block does
	HeaderOK   bool `json:"header_ok"`           // starts with 00 FF FF FF FF FF FF 00
	ChecksumOK bool `json:"checksum_ok"`         // of the base block

	Maker     string `json:"maker"`          // three letters; a code that is no letter is shown as "?"
	Product   uint16 `json:"product"`        // a number of the maker's own
	Serial    uint32 `json:"serial"`         // 0 is not used
	Week      int    `json:"week,omitempty"` // of manufacture, 1 to 54; 0 is not told
	Year      int    `json:"year"`
	ModelYear bool   `json:"model_year,omitempty"` // Year is that of the model, not of manufacture
	Version   int    `json:"version"`
	Revision  int    `json:"revision"`

	Digital       bool   `json:"digital"`
	BitsPerColour int    `json:"bits_per_colour,omitempty"` // the greatest; 0 is not told, as always before EDID 1.4
	Interface     string `json:"interface,omitempty"`       // DisplayPort, DVI, HDMI-a, HDMI-b, MDDI

	WidthMM  int `json:"width_millimetres,omitempty"` // in steps of 10; the timings have it finer
	HeightMM int `json:"height_millimetres,omitempty"`

	Timings     []Timing      `json:"timings,omitempty"`     // detailed ones of the base block
	Descriptors []Descriptor  `json:"descriptors,omitempty"` // texts of the base block
	Notebook    *NotebookData `json:"notebook,omitempty"`

	ExtensionCount int         `json:"extension_count"` // announced by the base block
	Extensions     []Extension `json:"extensions,omitempty"`
}

// Timing is one detailed timing. The Origin of its mode says where it stands.
type Timing struct {
	mode.Mode
	WidthMM    int  `json:"width_millimetres,omitempty"` // 0 is not told, as all bits set are not
	HeightMM   int  `json:"height_millimetres,omitempty"`
	Preferred  bool `json:"preferred,omitempty"`
	Interlaced bool `json:"interlaced,omitempty"` // lines as stored: of a field, in DisplayID of a frame
}

// Impossible tells in words why no panel can run the timing; "" when one can. Such
// numbers are what a damaged memory leaves, and no mode to work with.
func (t Timing) Impossible() string {
	switch {
	case t.H.Active <= 0:
		return "no active pixels"
	case t.V.Active <= 0:
		return "no active lines"
	case t.H.Back < 0 || t.V.Back < 0:
		return "the sync pulse does not fit into the blanking"
	case t.Interlaced:
		return "interlaced, which no panel is"
	}
	return ""
}

// ErrEmpty is the error of Decode for data without a byte.
var ErrEmpty = errors.New("no identity data: there is no byte to decode")

// Decode reads identity data. Data under 128 bytes, or shorter than its count of
// extensions says, is decoded as far as it goes and marked Truncated. The error is
// ErrEmpty.
func Decode(data []byte) (*EDID, error) {
	if len(data) == 0 {
		return nil, ErrEmpty
	}
	e := &EDID{Bytes: len(data)}
	e.decodeBase(data[:min(len(data), BlockSize)])
	if len(data) < BlockSize {
		e.Truncated = true
		return e, nil
	}
	e.ExtensionCount = int(data[126])
	rest := data[BlockSize:]
	for n := 1; n <= e.ExtensionCount; n++ {
		if len(rest) < BlockSize {
			e.Truncated = true
			break
		}
		e.Extensions = append(e.Extensions, decodeExtension(n, rest[:BlockSize]))
		rest = rest[BlockSize:]
	}
	return e, nil
}

// Extension is a block behind the base block.
type Extension struct {
	Block      int    `json:"block"` // the base block is 0
	Tag        int    `json:"tag"`
	Name       string `json:"name"`
	Version    string `json:"version,omitempty"`
	ChecksumOK bool   `json:"checksum_ok"`
	// SectionSumWrong says that a DisplayID section has a wrong sum of its own. With a
	// right sum of the block around it that is how its maker wrote it.
	SectionSumWrong bool               `json:"section_sum_wrong,omitempty"`
	Parameters      *DisplayParameters `json:"parameters,omitempty"`
	Power           *PowerSequence     `json:"power_sequence,omitempty"`
	Texts           []string           `json:"texts,omitempty"` // fit to be printed
	Timings         []Timing           `json:"timings,omitempty"`
	Overrun         string             `json:"overrun,omitempty"` // a data block that goes on behind its end, in words
}

// Tags of extension blocks, as VESA gives them out.
const (
	tagCTA       = 0x02
	tagDisplayID = 0x70
)

func decodeExtension(n int, b []byte) Extension {
	x := Extension{Block: n, Tag: int(b[0]), Name: extensionName(b[0]), ChecksumOK: Sum(b) == 0}
	switch b[0] {
	case tagCTA:
		x.cta(b)
	case tagDisplayID:
		x.displayID(b)
	}
	return x
}

func extensionName(tag byte) string {
	switch tag {
	case tagCTA:
		return "CTA-861"
	case tagDisplayID:
		return "DisplayID"
	}
	return fmt.Sprintf("of kind %02X, not decoded", tag)
}

// AllTimings is every detailed timing in the order in which the blocks tell them.
func (e *EDID) AllTimings() []Timing {
	all := append([]Timing(nil), e.Timings...)
	for _, x := range e.Extensions {
		all = append(all, x.Timings...)
	}
	return all
}

// Preferred is the timing that the panel asks for: the first detailed timing of
// the base block, else the preferred one of an extension, else the first of all.
func (e *EDID) Preferred() (Timing, bool) {
	all := e.AllTimings()
	if len(all) == 0 {
		return Timing{}, false
	}
	if len(e.Timings) == 0 {
		for _, t := range all {
			if t.Preferred {
				return t, true
			}
		}
	}
	return all[0], true
}
