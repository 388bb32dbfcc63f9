package inventory

import (
	"context"

	"shimwright/shim"
)

// A Store keeps the rows and gives transactions. It knows no rule of the shop;
// [Shop] does. It may refuse what breaks the invariants, as a second guard.
type Store interface {
	// View runs the function on an unchanging snapshot.
	View(ctx context.Context, f func(Reader) error) error
	// Update runs the function as the only writer. Where it returns nil, all
	// that it wrote is kept, durably and at once; otherwise nothing is. The
	// function may take long to return, see [Session], and runs once.
	Update(ctx context.Context, f func(Writer) error) error
	// Where names the place that the rows are kept in, for messages.
	Where() string
	Info(ctx context.Context) (Info, error)
	// Backup writes a checked copy of the shop as it is at one moment to a new
	// file. It gives the copy's last movement.
	Backup(ctx context.Context, target string) (Movement, error)
	// Verify looks for damage below the rows. Its error is for a verification
	// that could not be made.
	Verify(ctx context.Context) ([]Finding, error)
	Close() error
}

// Info is what a store knows of the place that it keeps the rows in.
type Info struct {
	Bytes   int64
	Version int // of the form of the rows
}

// A Page bounds a listing. A Limit of 0 or less gives all rows.
type Page struct{ Offset, Limit int }

// A MovementFilter selects rows of the ledger; zero fields select all.
type MovementFilter struct {
	After, Before int64 // rows with After < Seq, and Seq < Before where Before is not 0
	shim.Disc
	Job      int64
	Reverses int64
	Newest   bool // newest first
	Limit    int
}

// Takes reports whether a filter includes the disc. One with a diameter includes
// that family alone, one with a kind and no diameter every family of the kind;
// zero fields take in all.
func Takes(filter, d shim.Disc) bool {
	family := filter.Family == d.Family || filter.Diameter == 0 && (filter.Kind == "" || filter.Kind == d.Kind)
	return family && (filter.Size == 0 || filter.Size == d.Size)
}

// A StockFilter selects sizes or lots; zero fields select all. Only those with
// pieces on hand are listed.
type StockFilter struct {
	shim.Disc
	Page
}

// A JobFilter selects jobs, newest first; zero fields select all.
type JobFilter struct {
	States []State
	Tag    string // the same by [TagKey]
	// TagPart is any part of the tag, by [TagKey].
	TagPart string
	Engine  int64
	Machine int64
	Page
}

// A HoldFilter selects holds and purchases; zero fields select all.
type HoldFilter struct {
	Job int64
	shim.Disc
}

// A Reader reads rows. Single rows that do not exist are [ErrUnknown], yet a
// count, a stock or a revision that was never written is zero.
type Reader interface {
	// Last is the ledger's last row, the zero movement where it is empty.
	Last() (Movement, error)
	// Movements lists by Seq.
	Movements(MovementFilter) ([]Movement, error)

	Balance(Lot) (Balance, error)
	// Balances lists in the order of [Lot.Compare].
	Balances(StockFilter) ([]Balance, error)
	Stock(shim.Disc) (Stock, error)
	// Stocks lists by family and size.
	Stocks(StockFilter) ([]Stock, error)
	Revision(shim.Family) (Revision, error)
	// Revisions lists by family: all that were ever booked.
	Revisions() ([]Revision, error)

	Engine(id int64) (Engine, error)
	// FindEngine gives the engine with this seal.
	FindEngine(Hash) (Engine, error)
	// Engines lists by ID.
	Engines(Page) ([]Engine, error)

	Job(id int64) (Job, error)
	Jobs(JobFilter) ([]Job, error)
	// Command gives the one with this key.
	Command(key string) (Command, error)
	// Commands lists by key.
	Commands() ([]Command, error)
	// Edits lists by number.
	Edits(job int64) ([]Edit, error)
	// Checks lists by number.
	Checks(job int64) ([]Check, error)
	Plan(job int64, number int) (KeptPlan, error)
	// Holds lists by job and lot.
	Holds(HoldFilter) ([]Hold, error)
	// Purchases lists by job, family, size, supplier, part and price, a price
	// that is not known first. Job 0 is the shop itself.
	Purchases(HoldFilter) ([]Purchase, error)

	Record(kind string, number int64) (Record, error)
	// Records lists by number.
	Records(RecordFilter) ([]Record, error)

	// Tally is the kept number of rows, zero where none was kept.
	Tally(Group) (Tally, error)
	// Tallies lists all that are kept.
	Tallies() ([]Tally, error)
	// Rows counts the rows of the group that are there now.
	Rows(Group) (int64, error)
}

// A Writer also writes rows. What it writes it reads back at once.
type Writer interface {
	Reader
	// Append adds the row that follows the last one.
	Append(Movement) error
	PutBalance(Balance) error
	PutStock(Stock) error
	PutRevision(Revision) error

	// AddEngine and AddJob give the row the next number and tell it.
	AddEngine(Engine) (int64, error)
	AddJob(Job) (int64, error)
	PutJob(Job) error
	AddEdit(Edit) error
	// PutCommand replaces the row of the same key.
	PutCommand(Command) error
	// AddRecord gives the record the next number of its kind and tells it.
	AddRecord(Record) (int64, error)
	PutRecord(Record) error
	AddCheck(Check) error
	AddPlan(KeptPlan) error
	// PutHold replaces the row of the same job and lot, PutPurchase that of the
	// same job, family, size and terms; a row of zero counts is removed.
	PutHold(Hold) error
	PutPurchase(Purchase) error
	// PutTally replaces the tally of the same group; one of zero is removed.
	PutTally(Tally) error
}

// Kinds of row that are counted.
const (
	Movements = "movements"
	Lots      = "lots"
	Sizes     = "sizes"
	Diameters = "diameters" // revisions, one for each family
	Engines   = "engines"
	Jobs      = "jobs"
	Edits     = "edits"
	Commands  = "commands"
	Checks    = "checks"
	Holds     = "holds"
	Purchases = "purchases"
)

// A Group is the rows of one kind that belong to a job, to a family, or to a
// size of a family. Zero fields take in all.
type Group struct {
	What string
	Job  int64
	shim.Disc
}

// A Tally is how many rows a group has. It is kept beside the rows, so that one
// which is gone, or which a damaged index hides, is missed.
type Tally struct {
	Group
	Count int64
	Head  Hash // of all movements: the last one's hash
	Seal  Hash
}

// A Finding is one thing that a check of the shop found to be wrong.
type Finding struct {
	Where string // "movement 17", "size 2.4 mm of diameter 8.9", "file"
	What  string
}
