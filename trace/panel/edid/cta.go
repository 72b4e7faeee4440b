package edid

import (
	"fmt"
	"math"
)

// CTA is a CTA-861 extension block.
type CTA struct {
	Version    int        `json:"version"` // 1 to 3
	Underscan  bool       `json:"underscan"`
	Audio      bool       `json:"basic_audio"`
	YCbCr444   bool       `json:"ycbcr_444"`
	YCbCr422   bool       `json:"ycbcr_422"`
	NativeDTDs int        `json:"native_detailed_timings"`
	Blocks     []CTABlock `json:"data_blocks,omitempty"`
	Timings    []Timing   `json:"timings,omitempty"`
}

// CTABlock is one data block. What is not decoded is in Data.
type CTABlock struct {
	Tag         int           `json:"tag"`
	Extended    int           `json:"extended_tag,omitempty"` // with tag 7
	Name        string        `json:"name"`
	VICs        []VIC         `json:"vics,omitempty"`
	Audio       []AudioFormat `json:"audio_formats,omitempty"`
	Speakers    []string      `json:"speakers,omitempty"`
	OUI         string        `json:"oui,omitempty"` // of the vendor, such as 00-0C-03
	Colorimetry []string      `json:"colorimetry,omitempty"`
	HDR         *HDRStatic    `json:"hdr_static,omitempty"`
	Timings     []Timing      `json:"timings,omitempty"`
	Data        Hex           `json:"data"` // the payload behind the tags
}

// VIC is a video identification code of CTA-861.
type VIC struct {
	Code   int  `json:"code"`
	Native bool `json:"native,omitempty"`
}

// AudioFormat is a short audio descriptor.
type AudioFormat struct {
	Format      string `json:"format"`
	Channels    int    `json:"channels"`
	SampleRates []int  `json:"sample_rates_hertz,omitempty"`
	SampleBits  []int  `json:"sample_bits,omitempty"` // of linear PCM
}

// HDRStatic is what the display says of high dynamic range. A luminance of 0 is
// not told.
type HDRStatic struct {
	EOTFs        []string `json:"transfer_functions,omitempty"`
	MaxLuminance float64  `json:"max_luminance_candela_per_square_metre,omitempty"`
	MaxAverage   float64  `json:"max_frame_average_luminance_candela_per_square_metre,omitempty"`
	MinLuminance float64  `json:"min_luminance_candela_per_square_metre,omitempty"`
}

// decodeCTA reads an extension block of tag 02 (CTA-861, section 7.3).
func decodeCTA(n int, b []byte) *CTA {
	c := &CTA{Version: int(b[1])}
	if c.Version >= 2 {
		c.Underscan, c.Audio = b[3]&0x80 != 0, b[3]&0x40 != 0
		c.YCbCr444, c.YCbCr422 = b[3]&0x20 != 0, b[3]&0x10 != 0
		c.NativeDTDs = int(b[3] & 15)
	}
	at := int(b[2])
	if at > 127 {
		at = 127
	}
	if c.Version >= 3 && at > 4 {
		c.Blocks = decodeCTABlocks(b[4:at])
	}
	// 0 says that there are no timings, and data blocks neither.
	for ; at >= 4 && at+18 <= 127 && (b[at] != 0 || b[at+1] != 0); at += 18 {
		t := decodeDTD(b[at : at+18])
		t.Origin = fmt.Sprintf("block %d, CTA-861 detailed timing %d", n, len(c.Timings)+1)
		c.Timings = append(c.Timings, t)
	}
	return c
}

// decodeCTABlocks walks through data blocks: three bits of tag and five of length
// before each (CTA-861, section 7.4). A block that is cut off is left out.
func decodeCTABlocks(b []byte) []CTABlock {
	var out []CTABlock
	for len(b) > 0 {
		tag, size := int(b[0]>>5), int(b[0]&31)
		if 1+size > len(b) {
			break
		}
		out = append(out, decodeCTABlock(tag, b[1:1+size]))
		b = b[1+size:]
	}
	return out
}

func decodeCTABlock(tag int, p []byte) CTABlock {
	d := CTABlock{Tag: tag, Data: Hex(p)}
	switch tag {
	case 1:
		d.Name = "audio"
		d.Audio = decodeAudio(p)
	case 2:
		d.Name = "video"
		d.VICs = decodeVICs(p)
	case 3:
		d.Name = "vendor specific"
		d.OUI = oui(p)
		if name := vendorBlock(d.OUI); name != "" {
			d.Name = name
		}
	case 4:
		d.Name = "speakers"
		d.Speakers = flagNames(p, speakerNames())
	case 5:
		d.Name = "VESA transfer characteristic"
	case 6:
		d.Name = "video format"
	case 7:
		d.extended(p)
	default:
		d.Name = "reserved"
	}
	return d
}

// extended reads a block with its tag in the first byte of the payload.
func (d *CTABlock) extended(p []byte) {
	if len(p) == 0 {
		d.Name = "extended, without a tag"
		return
	}
	d.Extended, d.Data = int(p[0]), Hex(p[1:])
	p = p[1:]
	d.Name = extendedName(d.Extended)
	switch d.Extended {
	case 1, 17:
		d.OUI = oui(p)
	case 5:
		d.Colorimetry = flagNames(p, []string{
			"xvYCC601", "xvYCC709", "sYCC601", "opYCC601", "opRGB", "BT2020cYCC", "BT2020YCC", "BT2020RGB",
			"", "", "", "", "default RGB", "sRGB", "ICtCp", "ST2113RGB",
		})
	case 6:
		d.HDR = decodeHDR(p)
	case 14:
		d.VICs = decodeVICs(p)
	case 34:
		// One byte of revision and flags, then a timing as in DisplayID 2.x. The
		// bit that says preferred there says YCbCr 4:2:0 here.
		if len(p) >= 21 {
			d.Timings = decodeTypeI(p[1:21], 1e3, "CTA-861 type VII timing")
			d.Timings[0].Preferred = false
		}
	}
}

func extendedName(tag int) string {
	switch tag {
	case 0:
		return "video capability"
	case 1:
		return "vendor specific video"
	case 2:
		return "VESA display device"
	case 3:
		return "VESA video timing"
	case 5:
		return "colorimetry"
	case 6:
		return "HDR static metadata"
	case 7:
		return "HDR dynamic metadata"
	case 8:
		return "native video resolution"
	case 13:
		return "video format preference"
	case 14:
		return "YCbCr 4:2:0 video"
	case 15:
		return "YCbCr 4:2:0 capability map"
	case 17:
		return "vendor specific audio"
	case 18:
		return "HDMI audio"
	case 19:
		return "room configuration"
	case 20:
		return "speaker location"
	case 32:
		return "infoframe"
	case 34:
		return "DisplayID type VII timing"
	case 35:
		return "DisplayID type VIII timing"
	case 42:
		return "DisplayID type X timing"
	case 120:
		return "HDMI Forum extension override"
	case 121:
		return "HDMI Forum sink capability"
	}
	return fmt.Sprintf("reserved (extended tag %d)", tag)
}

// oui is the identifier of a vendor, stored with its last byte first.
func oui(p []byte) string {
	if len(p) < 3 {
		return ""
	}
	return fmt.Sprintf("%02X-%02X-%02X", p[2], p[1], p[0])
}

// vendorBlock names the vendor blocks of the HDMI standards.
func vendorBlock(oui string) string {
	switch oui {
	case "00-0C-03":
		return "HDMI"
	case "C4-5D-D8":
		return "HDMI Forum"
	}
	return ""
}

// decodeVICs reads short video descriptors: below 193 the top bit of the codes 1
// to 64 means native, all else is a code of eight bits (CTA-861, Video Data Block).
func decodeVICs(p []byte) []VIC {
	var out []VIC
	for _, v := range p {
		switch low := v & 0x7F; {
		case v == 0 || v == 128 || v >= 254:
		case low <= 64:
			out = append(out, VIC{Code: int(low), Native: v&0x80 != 0})
		default:
			out = append(out, VIC{Code: int(v)})
		}
	}
	return out
}

// decodeAudio reads short audio descriptors of three bytes (CTA-861, Audio Data
// Block).
func decodeAudio(p []byte) []AudioFormat {
	var out []AudioFormat
	for ; len(p) >= 3; p = p[3:] {
		code := int(p[0] >> 3 & 15)
		f := AudioFormat{Format: audioName(code, p[2]), Channels: int(p[0]&7) + 1}
		for i, rate := range []int{32000, 44100, 48000, 88200, 96000, 176400, 192000} {
			if p[1]&(1<<i) != 0 {
				f.SampleRates = append(f.SampleRates, rate)
			}
		}
		if code == 1 {
			for i, bits := range []int{16, 20, 24} {
				if p[2]&(1<<i) != 0 {
					f.SampleBits = append(f.SampleBits, bits)
				}
			}
		}
		out = append(out, f)
	}
	return out
}

func audioName(code int, third byte) string {
	names := []string{
		"reserved", "linear PCM", "AC-3", "MPEG-1", "MP3", "MPEG-2", "AAC LC", "DTS", "ATRAC", "one bit audio",
		"enhanced AC-3", "DTS-HD", "MAT", "DST", "WMA Pro",
	}
	if code < len(names) {
		return names[code]
	}
	return fmt.Sprintf("extended type %d", third>>3)
}

// speakerNames is the speaker allocation from bit 0 up (CTA-861, Speaker Allocation
// Data Block).
func speakerNames() []string {
	return []string{
		"front left and right", "low frequency 1", "front centre", "back left and right", "back centre",
		"front left and right of centre", "rear left and right of centre", "front wide", "top front left and right",
		"top centre", "top front centre", "left and right surround", "low frequency 2", "top back centre",
		"side left and right", "top side left and right", "top back left and right", "bottom front centre",
		"bottom front left and right", "top left and right surround",
	}
}

// flagNames names the bits that are set, from bit 0 of the first byte up.
func flagNames(p []byte, names []string) []string {
	var out []string
	for i, name := range names {
		if i/8 < len(p) && p[i/8]&(1<<(i%8)) != 0 && name != "" {
			out = append(out, name)
		}
	}
	return out
}

// decodeHDR reads the HDR static metadata block. The luminances are logarithmic:
// 50 cd/m² times two to the 32nds of the code for the two maxima, and for the
// minimum the maximum by the square of its code's 255th, over 100 (CTA-861, HDR
// Static Metadata Data Block).
func decodeHDR(p []byte) *HDRStatic {
	h := &HDRStatic{}
	if len(p) > 0 {
		h.EOTFs = flagNames(p[:1], []string{"traditional gamma SDR", "traditional gamma HDR", "SMPTE ST 2084", "hybrid log-gamma"})
	}
	level := func(i int) float64 {
		if i >= len(p) || p[i] == 0 {
			return 0
		}
		return 50 * math.Exp2(float64(p[i])/32)
	}
	h.MaxLuminance, h.MaxAverage = level(2), level(3)
	if len(p) > 4 {
		part := float64(p[4]) / 255
		h.MinLuminance = h.MaxLuminance * part * part / 100
	}
	return h
}
