package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
	"shimwright/shim/files"
)

// rows are what was counted: from the file, from the arguments, or typed.
func (o *countOptions) rows(b *bench, args []string) ([]shim.BoxRow, error) {
	u := o.units.unit()
	switch {
	case o.from != "":
		return readInput(b, o.from, func(name string, r io.Reader) ([]shim.BoxRow, []files.Fault, error) {
			return files.ReadStocktake(name, r, u)
		})
	case len(args) > 0 && !(len(args) == 1 && args[0] == "-"):
		var rows []shim.BoxRow
		for _, arg := range args {
			row, err := countedRow(arg, u)
			if err != nil {
				return nil, err
			}
			rows = append(rows, row)
		}
		return rows, nil
	}
	return b.countedLines(u)
}

// countedRow reads "2.400x3" or "2.400 3".
func countedRow(text string, u shim.Unit) (shim.BoxRow, error) {
	if words := strings.Fields(text); len(words) == 2 {
		text = words[0] + "x" + strings.TrimLeft(words[1], "xX*×")
	}
	p, err := parsePieces(text, u)
	if err == nil && !p.told {
		err = hint(usage(fmt.Errorf("%s: how many were there?", text)), "a size with its count, like 2.400x3; 2.400x0 where none was found")
	}
	return shim.BoxRow{Stamp: p.size, Count: p.count}, err
}

// countedLines reads lines like "2.400 3". A person is told at once what is
// wrong with a line and ends with an empty one; of a text all faults are told
// together.
func (b *bench) countedLines(u shim.Unit) ([]shim.BoxRow, error) {
	if b.person {
		fmt.Fprintf(b.err, "Type a size and its count, like %s 3; an empty line ends.\n", sizeText(2400*shim.Micrometre, u))
	}
	var rows []shim.BoxRow
	var faults files.Faults
	sums := map[shim.Length]int{}
	for number := 1; ; number++ {
		question := ""
		if b.person {
			question = "size count: "
		}
		line, err := b.prompt(question)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if line == "" && b.person {
			break
		}
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		row, err := countedRow(line, u)
		switch {
		case err == nil:
			rows = append(rows, row)
			if _, twice := sums[row.Stamp]; twice && b.person {
				fmt.Fprintf(b.err, "  %s: %d in all\n", sizeText(row.Stamp, u), sums[row.Stamp]+row.Count)
			}
			sums[row.Stamp] += row.Count
		case b.person:
			complain(b.err, err)
		default:
			var h hinted
			errors.As(err, &h)
			faults = append(faults, files.Fault{File: "standard input", Line: number, Message: err.Error(), Hint: h.hint})
		}
	}
	if len(faults) > 0 {
		return nil, faults
	}
	if len(rows) == 0 {
		return nil, hint(errors.New("nothing was counted"), "type a size and its count, like 2.400 3")
	}
	return rows, nil
}
