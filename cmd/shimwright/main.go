// Shimwright finds the exact best assignment of shims to an engine's valves.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], newBench())) }
