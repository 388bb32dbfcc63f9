package main

import (
	"database/sql"
	"encoding/hex"
	"os"
	"strconv"

	"github.com/rogpeppe/go-internal/testscript"
	_ "modernc.org/sqlite"
)

// poke file offset hex overwrites bytes of a file.
func poke(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: poke file offset hex")
	}
	offset, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	content, err := hex.DecodeString(args[2])
	ts.Check(err)
	f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteAt(content, offset)
	ts.Check(err)
	ts.Check(f.Close())
}

// forge file statement changes a shop file behind shimwright's back, past the
// triggers that keep the ledger as it is.
func forge(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: forge file statement")
	}
	db, err := sql.Open("sqlite", ts.MkAbs(args[0]))
	ts.Check(err)
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	ts.Check(err)
	var triggers []string
	for rows.Next() {
		var name string
		ts.Check(rows.Scan(&name))
		triggers = append(triggers, name)
	}
	ts.Check(rows.Err())
	ts.Check(rows.Close())
	for _, name := range triggers {
		_, err := db.Exec(`DROP TRIGGER "` + name + `"`)
		ts.Check(err)
	}
	_, err = db.Exec(args[1])
	ts.Check(err)
	ts.Check(db.Close())
}
