package bench

import (
	"bufio"
	"io"
)

// Key is a letter, or one of the keys below zero.
type Key rune

// Keys that are no letters.
const (
	KeyEnter Key = -iota - 1
	KeyBackspace
	KeyClear
	KeyEscape
	KeyInterrupt
	KeyEOF
	KeyUp
	KeyDown
	KeyPageUp
	KeyPageDown
	KeyOther
)

// Keys reads keys as a terminal in raw mode sends them.
type Keys struct{ r *bufio.Reader }

// NewKeys reads keys from a terminal.
func NewKeys(in io.Reader) *Keys { return &Keys{bufio.NewReader(in)} }

// Next waits for a key.
func (k *Keys) Next() (Key, error) {
	r, _, err := k.r.ReadRune()
	switch {
	case err != nil:
		return KeyEOF, err
	case r == '\r' || r == '\n':
		return KeyEnter, nil
	case r == 0x7f || r == '\b':
		return KeyBackspace, nil
	case r == 0x15: // ^U
		return KeyClear, nil
	case r == 0x03: // ^C
		return KeyInterrupt, nil
	case r == 0x04: // ^D
		return KeyEOF, nil
	case r == 0x1b:
		return k.sequence()
	case r < ' ' || r == '�':
		return KeyOther, nil
	}
	return Key(r), nil
}

// sequence reads what follows an escape: nothing for the key itself, or a control
// sequence (ECMA-48), which arrives in one piece.
func (k *Keys) sequence() (Key, error) {
	if k.r.Buffered() == 0 {
		return KeyEscape, nil
	}
	first, err := k.r.ReadByte()
	if err != nil || first != '[' && first != 'O' {
		return KeyOther, err
	}
	number := byte(0)
	for {
		c, err := k.r.ReadByte()
		switch {
		case err != nil:
			return KeyOther, err
		case c >= '0' && c <= '9':
			number = c
			continue
		case c < '@':
			continue
		case c == 'A':
			return KeyUp, nil
		case c == 'B':
			return KeyDown, nil
		case c == '~' && number == '5':
			return KeyPageUp, nil
		case c == '~' && number == '6':
			return KeyPageDown, nil
		}
		return KeyOther, nil
	}
}
