// Alone times the planning without the reading and writing around it: plan.Make
// on a job that make wrote. It prints the shortest of many runs in seconds.
//
//	go run ./testdata/peers/alone -pooled /tmp/job
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"path/filepath"
	"time"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
)

func main() {
	pooled := flag.Bool("pooled", false, "let a shim pulled from one engine go into another")
	flag.Parse()
	q, err := request(flag.Arg(0))
	if err != nil {
		log.Fatal(err)
	}
	q.SharePulled = *pooled
	shortest := time.Duration(1<<63 - 1)
	begin := time.Now()
	for runs := 0; runs < 3 || time.Since(begin) < time.Second; runs++ {
		start := time.Now()
		if _, err := plan.Make(context.Background(), q); err != nil {
			log.Fatal(err)
		}
		shortest = min(shortest, time.Since(start))
	}
	fmt.Println(shortest.Seconds())
}

// request reads the files of a folder.
func request(folder string) (q plan.Request, err error) {
	engine, err := read(folder, "engine.toml", files.ReadEngine)
	if err != nil {
		return q, err
	}
	checks, err := read(folder, "check.csv", func(name string, r io.Reader) ([]files.Check, []files.Fault, error) {
		return files.ReadCheck(name, r, []*shim.Engine{engine}, files.CheckOptions{})
	})
	if err != nil {
		return q, err
	}
	q.Box, err = read(folder, "box.csv", func(name string, r io.Reader) ([]shim.BoxRow, []files.Fault, error) {
		return files.ReadBox(name, r, engine.Units.Size, files.Marks{})
	})
	q.Margin = plan.DefaultMargin
	for _, c := range checks {
		q.Jobs = append(q.Jobs, plan.JobRequest{Name: c.Job, Engine: c.Of, Check: c.Measurements, Lift: shim.LiftAll})
	}
	return q, err
}

// read reads one file; warnings are left to the command.
func read[T any](folder, name string, parse func(name string, r io.Reader) (T, []files.Fault, error)) (content T, err error) {
	f, err := os.Open(filepath.Join(folder, name))
	if err != nil {
		return content, err
	}
	defer f.Close()
	content, _, err = parse(name, f)
	return content, err
}
