// Package edid decodes the identity data of a display panel: who made it, how
// big it is, and which timings it asks for.
//
//	e, err := edid.Decode(data)
//	best, ok := e.Preferred()
//
// It reads the base block of VESA E-EDID (releases 1.0 to 1.4) and the extension
// blocks that panels carry: CTA-861 and DisplayID 1.x and 2.x. Blocks of other
// kinds are listed by name. Decode never panics, whatever the bytes are, and takes
// what a wrong byte says as it stands: whether the data keeps the rules is a
// question for Check.
package edid

import (
	"encoding/hex"
	"errors"

	"example.org/walkback/trace/panel/mode"
)

// BlockSize is the length of each block in bytes (VESA E-EDID).
const BlockSize = 128

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

	Digital       bool         `json:"digital"`
	BitsPerColour int          `json:"bits_per_colour,omitempty"` // 0 is not told, as always before EDID 1.4
	Interface     string       `json:"interface,omitempty"`       // DisplayPort, DVI, HDMI-a, HDMI-b, MDDI
	Analog        *AnalogInput `json:"analog,omitempty"`

	WidthMM  int     `json:"width_millimetres,omitempty"` // in steps of 10; the timings have it finer
	HeightMM int     `json:"height_millimetres,omitempty"`
	Aspect   float64 `json:"aspect_ratio,omitempty"` // width by height, told instead of a size
	Gamma    float64 `json:"gamma,omitempty"`        // 0 is not told here

	Features    Features      `json:"features"`
	Colours     Colours       `json:"colours"`
	Established []Resolution  `json:"established_timings,omitempty"`
	Standard    []Resolution  `json:"standard_timings,omitempty"`
	Timings     []Timing      `json:"timings,omitempty"`     // detailed ones of the base block
	Descriptors []Descriptor  `json:"descriptors,omitempty"` // of the base block, without the timings
	Notebook    *NotebookData `json:"notebook,omitempty"`

	ExtensionCount int         `json:"extension_count"` // announced by the base block
	Extensions     []Extension `json:"extensions,omitempty"`
	Surplus        int         `json:"surplus_bytes,omitempty"` // behind the announced blocks, not decoded
}

// AnalogInput is what an analog display takes.
type AnalogInput struct {
	Levels        string `json:"levels"` // white and sync amplitude, in V
	Setup         bool   `json:"blank_to_black_setup"`
	SeparateSync  bool   `json:"separate_sync"`
	CompositeSync bool   `json:"composite_sync"`
	SyncOnGreen   bool   `json:"sync_on_green"`
	Serration     bool   `json:"vsync_serration"`
}

// Features are the flags of byte 24.
type Features struct {
	Standby             bool     `json:"standby"`
	Suspend             bool     `json:"suspend"`
	ActiveOff           bool     `json:"active_off"`
	ColourFormats       []string `json:"colour_formats,omitempty"`
	SRGB                bool     `json:"srgb_default"`
	PreferredIsNative   bool     `json:"preferred_is_native"`      // EDID 1.4
	FirstIsPreferred    bool     `json:"first_timing_preferred"`   // set before 1.4, always so in 1.4
	ContinuousFrequency bool     `json:"continuous_frequency"`     // EDID 1.4
	DefaultGTF          bool     `json:"default_gtf"`              // before 1.4
	DFP                 bool     `json:"dfp1_compatible,omitzero"` // EDID 1.3, a digital input as VESA DFP 1.x
}

// Colours are the CIE 1931 coordinates of the primaries and of white.
type Colours struct {
	Red   Point `json:"red"`
	Green Point `json:"green"`
	Blue  Point `json:"blue"`
	White Point `json:"white"`
}

// Point is a place in the CIE 1931 diagram.
type Point struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Resolution is a picture size with its refresh rate, without the timing.
type Resolution struct {
	Width      int     `json:"width_pixels"`
	Height     int     `json:"height_lines"`
	Rate       float64 `json:"refresh_hertz"`
	Interlaced bool    `json:"interlaced,omitempty"`
}

// Timing is one detailed timing. The Origin of its mode says where it stands.
type Timing struct {
	mode.Mode
	WidthMM   int    `json:"width_millimetres,omitempty"`
	HeightMM  int    `json:"height_millimetres,omitempty"`
	Preferred bool   `json:"preferred,omitempty"`
	Native    bool   `json:"native,omitempty"` // the pixels of the panel
	BorderH   int    `json:"border_pixels,omitempty"`
	BorderV   int    `json:"border_lines,omitempty"`
	Stereo    string `json:"stereo,omitempty"`
	Sync      string `json:"sync"` // kind of sync signal: digital separate, analog composite...
}

// Impossible tells in words why no display can run the timing; "" when one can. Such
// numbers are what a damaged memory leaves, and no mode to work with.
func (t Timing) Impossible() string {
	switch {
	case t.H.Active <= 0:
		return "no active pixels"
	case t.V.Active <= 0:
		return "no active lines"
	case t.H.Back < 0 || t.V.Back < 0:
		return "the sync pulse does not fit into the blanking"
	}
	return ""
}

// Extension is a block behind the base block. At most one of the pointers is set.
type Extension struct {
	Block      int        `json:"block"` // the base block is 0
	Tag        int        `json:"tag"`
	Name       string     `json:"name"`
	Revision   int        `json:"revision"`
	ChecksumOK bool       `json:"checksum_ok"`
	CTA        *CTA       `json:"cta,omitempty"`
	DisplayID  *DisplayID `json:"displayid,omitempty"`
	Map        []int      `json:"block_map,omitempty"` // the tags of the blocks that follow
}

// Hex is bytes that show as hex digits in JSON.
type Hex []byte

// MarshalText gives the digits without spaces.
func (h Hex) MarshalText() ([]byte, error) { return []byte(hex.EncodeToString(h)), nil }

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
	if !e.Truncated {
		e.Surplus = len(rest)
	}
	e.markNative()
	return e, nil
}

// markNative marks the timings that a CTA-861 block counts as native: the first of
// the whole data, those of the base block before its own (CTA-861, byte 3 of the
// extension; from memory).
func (e *EDID) markNative() {
	for _, x := range e.Extensions {
		if x.CTA == nil {
			continue
		}
		n := x.CTA.NativeDTDs
		for i := range e.Timings[:min(n, len(e.Timings))] {
			e.Timings[i].Native = true
		}
		n = max(n-len(e.Timings), 0)
		for i := range x.CTA.Timings[:min(n, len(x.CTA.Timings))] {
			x.CTA.Timings[i].Native = true
		}
		return
	}
}

func decodeExtension(n int, b []byte) Extension {
	x := Extension{
		Block: n, Tag: int(b[0]), Revision: int(b[1]), Name: extensionName(b[0]), ChecksumOK: sumOf(b) == 0,
	}
	switch b[0] {
	case tagCTA:
		x.CTA = decodeCTA(n, b)
	case tagDisplayID:
		x.DisplayID = decodeDisplayID(n, b)
	case tagBlockMap:
		// The map has no revision: its second byte is the first entry.
		x.Revision = 0
		for _, tag := range b[1:127] {
			if tag != 0 {
				x.Map = append(x.Map, int(tag))
			}
		}
	}
	return x
}

// Tags of extension blocks, as VESA gives them out.
const (
	tagCTA       = 0x02
	tagDisplayID = 0x70
	tagBlockMap  = 0xF0
)

func extensionName(tag byte) string {
	switch tag {
	case tagCTA:
		return "CTA-861"
	case 0x10:
		return "video timing block"
	case 0x20:
		return "EDID 2.0"
	case 0x30:
		return "colour information"
	case 0x40:
		return "display information"
	case 0x50:
		return "localized strings"
	case 0x60:
		return "microdisplay interface"
	case tagDisplayID:
		return "DisplayID"
	case 0xA7, 0xAF, 0xBF:
		return "display transfer characteristics"
	case tagBlockMap:
		return "block map"
	case 0xFF:
		return "of the maker's own"
	}
	return "unknown"
}

// AllTimings is every detailed timing in the order in which the blocks tell them.
func (e *EDID) AllTimings() []Timing {
	all := append([]Timing(nil), e.Timings...)
	for _, x := range e.Extensions {
		if x.CTA != nil {
			all = appendTimings(all, x.CTA.Blocks)
			all = append(all, x.CTA.Timings...)
		}
		if x.DisplayID != nil {
			for _, b := range x.DisplayID.Blocks {
				all = append(all, b.Timings...)
				all = appendTimings(all, b.CTA)
			}
		}
	}
	return all
}

func appendTimings(all []Timing, blocks []CTABlock) []Timing {
	for _, b := range blocks {
		all = append(all, b.Timings...)
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
	if len(e.Timings) > 0 {
		return all[0], true
	}
	for _, t := range all {
		if t.Preferred {
			return t, true
		}
	}
	return all[0], true
}

// Power is what the panel says of its power sequence, in a DisplayID extension.
func (e *EDID) Power() (PowerSequence, bool) {
	for _, x := range e.Extensions {
		if x.DisplayID == nil {
			continue
		}
		for _, b := range x.DisplayID.Blocks {
			if b.Power != nil {
				return *b.Power, true
			}
		}
	}
	return PowerSequence{}, false
}
