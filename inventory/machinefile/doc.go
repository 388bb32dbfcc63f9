// Package machinefile writes everything of one machine as one JSON file, and
// reads it: so a record can move to another shop. docs/machine-file.md is the
// contract. [Write] and [Read] are the way in; what is read is kept by
// [inventory.Shop.ImportMachine].
package machinefile
