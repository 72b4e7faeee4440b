package edid

// checkSection is a place in a standard.
type checkSection int

const (
	secFormat checkSection = iota
	secHeader
	secMaker
	secDate
	secVersion
	secInput
	secSize
	secGamma
	secFeatures
	secColour
	secEstablished
	secStandard
	secDescriptors
	secFirst
	secTiming
	secDisplay
	secSerial
	secText
	secLimits
	secName
	secColourPoint
	secStandardMore
	secColourManage
	secCVT
	secEstablishedIII
	secDummy
	secChecksum
	secBorders
	secExtension
	secBlockMap
	secPanelText
	secCTA
	secCTAFlags
	secCTABlocks
	secCTAVideo
	secDIDSection
	secDIDBlocks
)

const (
	checkStdEDID13 = "E-EDID A.1 (EDID 1.3)"
	checkStdEDID14 = "E-EDID A.2 (EDID 1.4)"
	checkStdCTA    = "CTA-861-H"
	checkStdDID    = "DisplayID 1.3"
	checkStdSPWG   = "SPWG Notebook Panel Specification"
)

// cite gives standard and clause for data of revision 1.minor. The clauses of E-EDID
// Release A Revision 2 were checked against public format descriptions that cite
// it clause by clause, not against its own text. Of Revision 1 only 3.10.3 was seen
// cited; that it has the same clauses 3.3 to 3.11 is from memory, and its
// subclauses are not cited at all. Lines with another origin say so.
func (s checkSection) cite(minor int) (standard, clause string) {
	old, now := s.edidClause()
	switch {
	case now != "" && minor >= 4:
		return checkStdEDID14, now
	case now != "":
		return checkStdEDID13, old
	}
	switch s {
	case secPanelText:
		return checkStdSPWG, "EDID data format" // from memory
	case secCTA:
		return checkStdCTA, "7.3 CTA Extension" // number from memory
	case secCTAFlags:
		return checkStdCTA, "7.3.3 CTA Extension Version 3" // number seen cited, title from memory
	case secCTABlocks:
		return checkStdCTA, "7.4 CTA Data Block Collection" // number seen cited, title from memory
	case secCTAVideo:
		return checkStdCTA, "Video Timing Requirements" // title from memory
	case secDIDBlocks:
		return checkStdDID, "Data Blocks" // title from memory
	}
	return checkStdDID, "Section Structure" // title from memory; 2.3, product type, was seen cited
}

// edidClause gives the clause in Revision 1 and in Revision 2 of E-EDID Release A.
func (s checkSection) edidClause() (old, now string) {
	same := func(c string) (string, string) { return c, c }
	switch s {
	case secFormat:
		return same("EDID Format Overview") // title from memory
	case secHeader:
		return same("3.3 Header")
	case secMaker:
		return "3.4 Vendor / Product Identification", "3.4.1 ID Manufacturer Name"
	case secDate:
		return "3.4 Vendor / Product Identification", "3.4.4 Week and Year of Manufacture or Model Year"
	case secVersion:
		return same("3.5 EDID Structure Version and Revision")
	case secInput:
		return "3.6 Basic Display Parameters and Features", "3.6.1 Video Input Definition"
	case secSize:
		return "3.6 Basic Display Parameters and Features", "3.6.2 Horizontal and Vertical Screen Size or Aspect Ratio"
	case secGamma:
		return "3.6 Basic Display Parameters and Features", "3.6.3 Display Transfer Characteristics (Gamma)"
	case secFeatures:
		return "3.6 Basic Display Parameters and Features", "3.6.4 Feature Support"
	case secColour:
		return same("3.7 Display x, y Chromaticity Coordinates")
	case secEstablished:
		return same("3.8 Established Timings")
	case secStandard:
		return same("3.9 Standard Timings")
	case secChecksum:
		return same("3.11 Extension Flag and Checksum")
	case secBorders:
		return same("3.12, on borders") // number seen cited for both revisions
	case secExtension:
		return same("EDID Extensions") // title from memory
	case secBlockMap:
		return same("Block Map Extension") // title from memory
	}
	return s.descriptorClause()
}

// descriptorClause is edidClause for the 18-byte descriptors.
func (s checkSection) descriptorClause() (old, now string) {
	const display = "3.10.3 Monitor Descriptor Description"
	switch s {
	case secDescriptors:
		return "3.10 Detailed Timing Section", "3.10 18 Byte Descriptors"
	case secFirst:
		return "3.10 Detailed Timing Section", "3.10.1 First 18 Byte Descriptor" // from memory
	case secTiming:
		return "3.10 Detailed Timing Section", "3.10.2 Detailed Timing Descriptor"
	case secDisplay:
		return display, "3.10.3 Display Descriptor Definitions"
	case secSerial:
		return display, "3.10.3.1 Display Product Serial Number"
	case secText:
		return display, "3.10.3.2 Alphanumeric Data String"
	case secLimits:
		return display, "3.10.3.3 Display Range Limits & Additional Timing Descriptor"
	case secName:
		return display, "3.10.3.4 Display Product Name"
	case secColourPoint:
		return display, "3.10.3.5 Color Point"
	case secStandardMore:
		return display, "3.10.3.6 Standard Timing Identifier"
	case secColourManage:
		return display, "3.10.3.7 Color Management Data"
	case secCVT:
		return display, "3.10.3.8 CVT 3 Byte Code"
	case secEstablishedIII:
		return display, "3.10.3.9 Established Timings III"
	case secDummy:
		return display, "3.10.3.11 Dummy Descriptor"
	}
	return "", ""
}
