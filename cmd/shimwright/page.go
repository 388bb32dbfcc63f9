package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// A page is the part of a listing that is printed: page n of so many rows, or
// all where number is 0.
type page struct{ number int }

// pageOf reads the flags. Tables are paged unless all is asked for; JSON and
// CSV are for programs and whole unless a page is asked for.
func pageOf(cmd *cobra.Command, number int, all bool, form string) (page, error) {
	switch {
	case cmd.Flags().Changed("page"):
		if number < 1 {
			return page{}, wrong("--page 1", "pages are numbered from 1")
		}
		return page{number}, nil
	case all, form == "json", form == "csv":
		return page{}, nil
	}
	return page{1}, nil
}

// shows tells whether a row, counted from 0, is on the page.
func (p page) shows(row int) bool { return p.number == 0 || row/pageRows == p.number-1 }

func (p page) pages(rows int) int {
	if p.number == 0 {
		return 1
	}
	return max(1, (rows+pageRows-1)/pageRows)
}

// notes say how to see the rest.
func (p page) notes(rows int) []string {
	of := p.pages(rows)
	switch {
	case p.number > of:
		return []string{fmt.Sprintf("There is no page %d: the last one is %d.", p.number, of)}
	case of == 1:
		return nil
	case p.number == of:
		return []string{fmt.Sprintf("Page %d of %d, the last one.", p.number, of)}
	}
	return []string{fmt.Sprintf("Page %d of %d. More: --page %d, or --all.", p.number, of, p.number+1)}
}

// pageJSON tells a program whether it has all.
type pageJSON struct {
	Page  int `json:"page"`
	Pages int `json:"pages"`
}

func (p page) json(rows int) pageJSON { return pageJSON{max(1, p.number), p.pages(rows)} }
