package before

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"time"
)

// The runtime keeps a checksum of the machine code in its files, but none of the table of functions before it (24 KiB)
// nor of the table of places behind it: a bit that falls over there sends calls astray. And a file that it cannot read
// makes the library's init panic, whatever the command. So beside each file lies a sum of all of it, and what has none
// or another one is thrown away before the library looks.
const (
	sumEnding  = ".sum"
	tempEnding = ".tmp" // of files being written, by the runtime and by us
	leftOver   = time.Hour
	// room is what has to be free for a new file of machine code, which has 6 MiB.
	room = 16 << 20
)

// files calls f for every file of machine code in the folders of the library, and fails when there is anything that
// others can have made or changed.
func files(library string, f func(path string) error) error {
	folders, err := os.ReadDir(library)
	if err != nil {
		return err
	}
	for _, d := range folders {
		dir := filepath.Join(library, d.Name())
		if err := ensureDir(dir, 0o077); err != nil {
			return err
		}
		list, err := os.ReadDir(dir)
		if err != nil {
			return err
		}
		for _, e := range list {
			path := filepath.Join(dir, e.Name())
			info, err := os.Lstat(path)
			if os.IsNotExist(err) {
				continue // another process has just put it in its place
			}
			if err != nil {
				return err
			}
			if !info.Mode().IsRegular() {
				return fmt.Errorf("%s is not a file", path)
			}
			if err := checkOwner(info, 0o077); err != nil {
				return fmt.Errorf("%s: %w", path, err)
			}
			switch filepath.Ext(path) {
			case tempEnding:
				if time.Since(info.ModTime()) > leftOver {
					_ = os.Remove(path)
				}
			case sumEnding:
			default:
				if err := f(path); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// ready throws away what is damaged and reports whether undamaged code is left. Where there is none it makes sure that
// there is room for some: the library's init panics when it cannot write its file.
func ready(library string) (warm bool, err error) {
	err = files(library, func(path string) error {
		want, err := os.ReadFile(path + sumEnding)
		if err == nil {
			var got string
			if got, err = sum(path); err == nil && got == string(want) {
				warm = true
				return nil
			}
		}
		for _, name := range []string{path + sumEnding, path} {
			if err := os.Remove(name); err != nil && !os.IsNotExist(err) {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return false, err
	}
	if !warm {
		err = tryToWrite(library)
	}
	return warm, err
}

func tryToWrite(library string) error {
	folder := filepath.Dir(library)
	err := fill(folder)
	var pe *os.PathError
	if errors.As(err, &pe) {
		// The name that it tells is that of a temporary file.
		return fmt.Errorf("write into %s: %w", folder, pe.Err)
	}
	return err
}

// fill takes the room that a file of machine code needs, and gives it back.
func fill(folder string) error {
	f, err := os.CreateTemp(folder, "room.*"+tempEnding)
	if err != nil {
		return err
	}
	_, err = f.Write(make([]byte, room))
	if e := f.Close(); err == nil {
		err = e
	}
	if e := os.Remove(f.Name()); err == nil {
		err = e
	}
	return err
}

// seal puts a sum beside every file that has none.
func seal(library string) error {
	return files(library, func(path string) error {
		if _, err := os.Lstat(path + sumEnding); err == nil {
			return nil
		}
		text, err := sum(path)
		if err != nil {
			return err
		}
		return writeWhole(path+sumEnding, text)
	})
}

// writeWhole leaves the file as it was or as it should be, also where two processes write it at once.
func writeWhole(path, text string) error {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*"+tempEnding)
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sum is the CRC-32C of a file and its length. It is meant for accidents: nobody else can write in these folders.
func sum(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := crc32.New(castagnoli)
	n, err := io.CopyBuffer(struct{ io.Writer }{h}, struct{ io.Reader }{f}, make([]byte, 256<<10))
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%08x %d\n", h.Sum32(), n), nil
}
