// Package sqlite keeps a shop in one SQLite file, without cgo.
//
// Enter at [Create] for a new file and at [Open] for one that is there; both
// give a [Store]. [Path] finds the file where nobody names it.
//
// The file is made for short-lived commands and for people who copy it: a
// rollback journal that is gone after each command, and every commit synced to
// the disk before it is acknowledged. Writers take turns; a command that cannot
// get its turn within [patience] says so. Do not put the file on a network
// share: SQLite's locks do not hold there (sqlite.org/faq.html, question 5).
package sqlite
