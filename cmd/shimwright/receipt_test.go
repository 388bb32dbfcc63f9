package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/inventory"
)

// Pieces of several jobs that came in turn are counted for each of them.
func TestAssignedInTurn(t *testing.T) {
	var list []inventory.Movement
	for _, job := range []int64{2, 2, 1, 2, 0} {
		list = append(list, inventory.Movement{Kind: inventory.KindReceived, Job: job, Count: 1})
	}
	assert.Equal(t, []string{
		"1 reserved for job 1, which was waiting for them.",
		"3 reserved for job 2, which was waiting for them.",
	}, assigned(list))
}
