package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A scanFile keeps a count by scanning: a row for each scan, appended and on the disk
// before it is acknowledged.
type scanFile struct {
	name   string
	disk   int64      // what it holds, below 0 where there is none
	whole  int64      // without a row that a killed run did not finish
	lines  []scanLine // in effect
	closed bool       // compared with the box and booked
}

// A scanLine is one scan.
type scanLine struct {
	what string // "bin", "shim", "undo", "drop", "booked"
	bin  string
	shim.Disc
	count int
	seq   int64  // of the last movement when the bin was scanned; the booking
	hash  string // of that movement
}

var scanHeader = []string{"scan", "bin", "size_mm", "diameter_mm", "family", "count", "movement", "hash"}

// A countedBin is what was scanned in a bin.
type countedBin struct {
	name   string
	since  int64 // the last movement before
	pieces map[shim.Disc]int
}

func (b *countedBin) all() (n int) {
	for _, count := range b.pieces {
		n += count
	}
	return n
}

// text is a bin's name for people.
func (b *countedBin) text() string {
	if b.name == "" {
		return "no bin"
	}
	return "bin " + b.name
}

// load reads what was scanned before.
func (f *scanFile) load() error {
	if err := notShop(f.name); err != nil {
		return err
	}
	f.disk, f.whole, f.lines = -1, 0, nil
	content, err := os.ReadFile(f.name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return shim.Fail(nil, "give the name of a file for the scans", "%s cannot be read: %w", f.name, errors.Unwrap(err))
	}
	f.disk = int64(len(content))
	f.whole = int64(bytes.LastIndexByte(content, '\n') + 1)
	header := strings.Join(scanHeader, ",") + "\n"
	if !strings.HasPrefix(header, string(content)) && !strings.HasPrefix(string(content), header) {
		return shim.Fail(nil, "give another name; nothing was changed", "%s is no count by scanning", f.name)
	}
	rows, err := csv.NewReader(bytes.NewReader(content[:f.whole])).ReadAll()
	for i := 1; i < len(rows) && err == nil; i++ {
		var l scanLine
		if l, err = scanRow(rows[i]); err == nil {
			err = f.take(l)
		}
		if err != nil {
			err = fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	if err != nil {
		return shim.Fail(nil, "it was changed by hand: count again with another file", "%s: %w", f.name, err)
	}
	return nil
}

func scanRow(r []string) (l scanLine, err error) {
	l.what, l.bin, l.Kind, l.hash = r[0], r[1], r[4], r[7]
	var failed error
	length := func(text string) (n shim.Length) {
		if text != "" {
			n, err = shim.MM.ParseTyped(text)
			failed = errors.Join(failed, err)
		}
		return n
	}
	l.Size, l.Diameter = length(r[2]), length(r[3])
	if r[5] != "" {
		l.count, err = strconv.Atoi(r[5])
		failed = errors.Join(failed, err)
	}
	if r[6] != "" {
		l.seq, err = strconv.ParseInt(r[6], 10, 64)
		failed = errors.Join(failed, err)
	}
	return l, failed
}

func (l scanLine) row() []string {
	r := []string{l.what, l.bin, "", "", l.Kind, "", "", l.hash}
	if l.what == "shim" {
		r[2], r[3], r[5] = shim.MM.Format(l.Size), shim.MM.Format(l.Diameter), strconv.Itoa(l.count)
	}
	if l.what == "bin" || l.what == "booked" {
		r[6] = strconv.FormatInt(l.seq, 10)
	}
	return r
}

// take brings a line into effect.
func (f *scanFile) take(l scanLine) error {
	open := len(f.lines) > 0 && f.lines[len(f.lines)-1].what != "drop"
	switch {
	case f.closed:
		return errors.New("scans after the booking")
	case l.what == "booked":
		f.closed = true
	case l.what == "undo" && len(f.lines) > 0:
		f.lines = f.lines[:len(f.lines)-1]
	case l.what == "bin", l.what == "shim" && open && l.count >= 0, l.what == "drop" && open:
		f.lines = append(f.lines, l)
	default:
		return fmt.Errorf("%q does not belong here", l.what)
	}
	return nil
}

// add appends a line to the file and brings it into effect. When it returns nil, the
// line is on the disk.
func (f *scanFile) add(l scanLine) (err error) {
	before := slices.Clone(f.lines)
	if err := f.take(l); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.lines = before
		}
	}()
	var text bytes.Buffer
	w := csv.NewWriter(&text)
	if f.whole == 0 {
		_ = w.Write(scanHeader) // errors show in Flush
	}
	_ = w.Write(l.row())
	w.Flush()
	flags := os.O_WRONLY
	if f.disk < 0 {
		flags |= os.O_CREATE | os.O_EXCL
	}
	file, err := os.OpenFile(f.name, flags, 0o666)
	if err != nil {
		return cannotWrite(f.name, err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err == nil && info.Size() != max(f.disk, 0) {
		return shim.Fail(nil, "count with one file at a time; the last scan is not kept", "%s was changed meanwhile", f.name)
	}
	if err == nil && f.disk > f.whole {
		err = file.Truncate(f.whole)
	}
	if err == nil {
		_, err = file.WriteAt(text.Bytes(), f.whole)
	}
	if err == nil {
		err = file.Sync()
	}
	if err == nil && f.disk < 0 {
		err = syncFolder(filepath.Dir(f.name))
	}
	if err != nil {
		return cannotWrite(f.name, err)
	}
	f.whole += int64(text.Len())
	f.disk = f.whole
	return nil
}

// bins gives what was scanned, by bin, and which of them is open, below 0 for none.
func (f *scanFile) bins() (list []countedBin, open int) {
	open = -1
	for _, l := range f.lines {
		switch l.what {
		case "bin":
			open = slices.IndexFunc(list, func(b countedBin) bool { return b.name == l.bin })
			if open < 0 {
				open = len(list)
				list = append(list, countedBin{l.bin, l.seq, map[shim.Disc]int{}})
			}
		case "shim":
			list[open].pieces[l.Disc] += l.count
		case "drop":
			list = slices.Delete(list, open, open+1)
			open = -1
		}
	}
	return list, open
}
