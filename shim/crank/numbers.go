package crank

import "shimwright/shim"

// Numbers gives the number of the position at which each valve is measured, from
// 1, in the order of [shim.Engine.Valves]; nil where the engine does not tell.
func Numbers(e *shim.Engine) []int {
	list, err := Plan(e)
	if err != nil {
		return nil // it has no firing order
	}
	at := make([]int, len(e.Valves()))
	for i, position := range list {
		for _, v := range position.Valves {
			if k, found := e.Find(v); found {
				at[k] = i + 1
			}
		}
	}
	return at
}
