package sqlite

import "shimwright/inventory"

// reseal is the Go step to version 2.
func reseal(t *tx) error { return inventory.Reseal(t) }

// machines is the Go step to version 4.
func machines(t *tx) error { return inventory.FindMachines(t) }
