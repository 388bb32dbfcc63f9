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
	// A scanned label is one piece; a bare size may be a count forgotten.
	if err == nil && !p.told && p.diameter == 0 {
		err = wrong("a size with its count, like 2.400x3; 2.400x0 where none was found", "%s: how many were there?", text)
	}
	return shim.BoxRow{Marks: shim.Marks{Stamp: p.size}, Diameter: p.diameter, Count: p.count}, err
}

// countedLines reads lines like "2.400 3", or a label for each piece.
func (b *bench) countedLines(u shim.Unit) ([]shim.BoxRow, error) {
	var rows []shim.BoxRow
	sums := map[[2]shim.Length]int{}
	about := fmt.Sprintf("Type a size and its count, like %s 3, or scan a label for each piece; an empty line ends.", sizeText(2400*shim.Micrometre, u))
	err := b.eachLine("size count: ", about, func(line string) error {
		row, err := countedRow(line, u)
		if err != nil {
			return err
		}
		rows = append(rows, row)
		key := [2]shim.Length{row.Diameter, row.Stamp}
		if _, twice := sums[key]; twice && b.person {
			fmt.Fprintf(b.err, "  %s: %d in all\n", sizeText(row.Stamp, u), sums[key]+row.Count)
		}
		sums[key] += row.Count
		return nil
	})
	if err == nil && len(rows) == 0 {
		err = shim.Fail(nil, "type a size and its count, like 2.400 3", "nothing was counted")
	}
	return rows, err
}

// eachLine reads standard input line by line. A person is told at once what is
// wrong with a line and ends with an empty one; of a text all faults are told
// together.
func (b *bench) eachLine(question, about string, take func(line string) error) error {
	if b.person {
		fmt.Fprintln(b.err, about)
	} else {
		question = ""
	}
	var faults files.Faults
	for number := 1; ; number++ {
		line, err := b.prompt(question)
		if errors.Is(err, io.EOF) || err == nil && line == "" && b.person {
			break
		}
		if err != nil {
			return err
		}
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		switch err := take(line); {
		case err == nil:
		case b.person:
			complain(b.err, err)
		default:
			faults = append(faults, files.Fault{File: "standard input", Line: number, Hinted: shim.Hinted{Message: err.Error(), Hint: shim.HintOf(err)}})
		}
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}
