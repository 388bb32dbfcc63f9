// Make writes a large invented job: an engine file, a check of many engines of
// that kind, and a box. It is for measuring, not for any engine.
//
//	go run ./testdata/peers/make -valves 100000 -box plenty -folder /tmp/job
package main

import (
	"bufio"
	"flag"
	"fmt"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
)

const engine = `# Invented, for measuring only.
name = "Gannet four"
cylinders = 4
firing_order = [1, 3, 4, 2]
access = "camshaft"

[intake]
valves = 2
clearance = [0.11, 0.19]

[exhaust]
valves = 2
clearance = [0.21, 0.30]
aim = 0.6

[shims]
diameter = 8.9

[[shims.catalogue]]
from = 1.20
to = 3.00
step = 0.025
price = 7.80
`

func main() {
	valves := flag.Int("valves", 100_000, "number of valves, rounded up to whole engines of 16")
	box := flag.String("box", "plenty", "plenty (ten pieces a valve), scarce (one for ten valves) or none")
	miked := flag.Bool("miked", false, "every shim miked to 0.001 mm")
	seed := flag.Uint64("seed", 1, "of the random figures")
	folder := flag.String("folder", ".", "where to write engine.toml, check.csv and box.csv")
	flag.Parse()
	*valves = (*valves + 15) / 16 * 16

	r := rand.New(rand.NewPCG(*seed, 0))
	write := func(name string, print func(w *bufio.Writer)) {
		f, err := os.Create(filepath.Join(*folder, name))
		if err != nil {
			log.Fatal(err)
		}
		w := bufio.NewWriter(f)
		print(w)
		if err := w.Flush(); err != nil {
			log.Fatal(err)
		}
		if err := f.Close(); err != nil {
			log.Fatal(err)
		}
	}
	// Sizes cluster in the middle of the range, as they do in engines.
	size := func() int { return 1800 + 25*(r.IntN(16)+r.IntN(17)) }
	mic := func(size int) string {
		if !*miked {
			return ""
		}
		return micrometres(size - 12 + r.IntN(25))
	}
	write("engine.toml", func(w *bufio.Writer) { w.WriteString(engine) })
	write("check.csv", func(w *bufio.Writer) {
		w.WriteString("job,valve,clearance,shim,mic\n")
		for i := range *valves {
			job, at := i/16+1, i%16
			side, middle := "in", 150
			if at%4 >= 2 {
				side, middle = "ex", 255
			}
			clearance := middle + 10*(r.IntN(8)+r.IntN(8)-7) // to 0.07 mm either way
			s := size()
			fmt.Fprintf(w, "%d,%s%d%c,%s,%s,%s\n", job, side, at/4+1, 'a'+at%2, micrometres(clearance/10*10), micrometres(s), mic(s))
		}
	})
	write("box.csv", func(w *bufio.Writer) {
		w.WriteString("size,count,mic\n")
		pieces := map[string]int{"plenty": 10 * *valves, "scarce": *valves / 10, "none": 0}[*box]
		counts := map[[2]string]int{}
		var order [][2]string
		for range pieces {
			s := size()
			key := [2]string{micrometres(s), mic(s)}
			if counts[key] == 0 {
				order = append(order, key)
			}
			counts[key]++
		}
		for _, key := range order {
			fmt.Fprintf(w, "%s,%d,%s\n", key[0], counts[key], key[1])
		}
		if len(order) == 0 {
			w.WriteString("2.000,0,\n")
		}
	})
}

func micrometres(n int) string { return fmt.Sprintf("%d.%03d", n/1000, n%1000) }
