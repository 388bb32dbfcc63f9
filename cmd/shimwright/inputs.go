package main

import (
	"io"

	"shimwright/shim"
	"shimwright/shim/files"
)

// readEngine reads an engine file and prints its warnings.
func (b *bench) readEngine(name string) (*shim.Engine, error) {
	return readInput(b, name, files.ReadEngine)
}

// readBox reads a box file whose lengths are in the unit.
func (b *bench) readBox(name string, u shim.Unit) ([]shim.BoxRow, error) {
	return readInput(b, name, func(name string, r io.Reader) ([]shim.BoxRow, []files.Fault, error) {
		return files.ReadBox(name, r, u)
	})
}

// readCatalogue reads a catalogue file whose lengths are in the unit.
func (b *bench) readCatalogue(name string, u shim.Unit) ([]shim.Offer, error) {
	return readInput(b, name, func(name string, r io.Reader) ([]shim.Offer, []files.Fault, error) {
		return files.ReadCatalogue(name, r, u)
	})
}

// readGauge reads a gauge file; without a name it is nil, for the engine's own.
func (b *bench) readGauge(name string) (*shim.Gauge, error) {
	if name == "" {
		return nil, nil
	}
	gauge, err := readInput(b, name, files.ReadGauge)
	if err != nil {
		return nil, err
	}
	return &gauge, nil
}

// readCheck reads a check file on the engines.
func (b *bench) readCheck(name string, engines []*shim.Engine, options files.CheckOptions) ([]files.Check, error) {
	return readInput(b, name, func(name string, r io.Reader) ([]files.Check, []files.Fault, error) {
		return files.ReadCheck(name, r, engines, options)
	})
}

// readInput opens an input, reads it and prints its warnings.
func readInput[T any](b *bench, name string, read func(name string, r io.Reader) (T, []files.Fault, error)) (T, error) {
	name, r, err := b.open(name)
	if err != nil {
		var none T
		return none, err
	}
	defer r.Close()
	value, warnings, err := read(name, r)
	b.warn(warnings)
	return value, err
}
