// Package memory is the reference store: rows in maps and slices, gone with
// the process. It is what other stores are compared with, and what a rule is
// tested on first.
package memory

import (
	"context"
	"maps"
	"slices"
	"sync"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Store keeps rows in memory. It may be used by several goroutines.
type Store struct {
	mu    sync.RWMutex
	state state
}

// New is an empty store.
func New() *Store {
	return &Store{state: state{
		lots:      map[inventory.Lot]inventory.Balance{},
		stocks:    map[shim.Disc]inventory.Stock{},
		revisions: map[shim.Family]inventory.Revision{},
		holds:     map[promise]inventory.Hold{},
		purchases: map[buy]inventory.Purchase{},
		commands:  map[string]inventory.Command{},
		tallies:   map[inventory.Group]inventory.Tally{},
	}}
}

type buy struct {
	job int64
	shim.Disc
	inventory.Terms
}

type promise struct {
	job int64
	lot inventory.Lot
}

// state is all rows. Rows are values: a changed row replaces the old one.
type state struct {
	ledger    []inventory.Movement
	lots      map[inventory.Lot]inventory.Balance
	stocks    map[shim.Disc]inventory.Stock
	revisions map[shim.Family]inventory.Revision
	engines   []inventory.Engine
	jobs      []inventory.Job
	edits     []inventory.Edit
	checks    []inventory.Check
	plans     []inventory.KeptPlan
	holds     map[promise]inventory.Hold
	purchases map[buy]inventory.Purchase
	commands  map[string]inventory.Command
	records   []inventory.Record
	tallies   map[inventory.Group]inventory.Tally
}

func (s state) clone() state {
	s.ledger = slices.Clip(s.ledger)
	s.lots = maps.Clone(s.lots)
	s.stocks = maps.Clone(s.stocks)
	s.revisions = maps.Clone(s.revisions)
	s.engines = slices.Clip(s.engines)
	s.jobs = slices.Clone(s.jobs)
	s.edits = slices.Clip(s.edits)
	s.checks = slices.Clip(s.checks)
	s.plans = slices.Clip(s.plans)
	s.holds = maps.Clone(s.holds)
	s.purchases = maps.Clone(s.purchases)
	s.commands = maps.Clone(s.commands)
	s.records = slices.Clone(s.records)
	s.tallies = maps.Clone(s.tallies)
	return s
}

// View implements [inventory.Store].
func (s *Store) View(ctx context.Context, f func(inventory.Reader) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	return f(&s.state)
}

// Update implements [inventory.Store]: the function writes to a copy, which
// takes the place of the rows where it succeeds.
func (s *Store) Update(ctx context.Context, f func(inventory.Writer) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	next := s.state.clone()
	if err := f(&next); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil { // what is broken off up to here is not kept
		return err
	}
	s.state = next
	return nil
}

// Where implements [inventory.Store].
func (s *Store) Where() string { return "memory" }

// Info implements [inventory.Store].
func (s *Store) Info(context.Context) (inventory.Info, error) { return inventory.Info{}, nil }

// Backup refuses: the rows go with the process.
func (s *Store) Backup(context.Context, string) (inventory.Movement, error) {
	return inventory.Movement{}, shim.Fail(inventory.ErrInvalid, "", "a shop in memory is not kept and has no backup")
}

// Verify finds nothing: there is nothing below the rows.
func (s *Store) Verify(context.Context) ([]inventory.Finding, error) { return nil, nil }

// Close does nothing.
func (s *Store) Close() error { return nil }
