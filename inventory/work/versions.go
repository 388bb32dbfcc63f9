package work

import (
	"fmt"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// An Edition is the place of an engine file among the versions of its model.
type Edition struct{ Number, Of int }

// Older reports whether the shop has a newer one.
func (v Edition) Older() bool { return v.Number < v.Of }

// Editions places every engine file by its number.
func Editions(engines []inventory.Engine) map[int64]Edition {
	places := map[int64]Edition{}
	for _, e := range engines {
		list := versions(engines, e.Spec.Name, e.Spec.State)
		for i, v := range list {
			if v.ID == e.ID {
				places[e.ID] = Edition{i + 1, len(list)}
			}
		}
	}
	return places
}

// EditionOf places an engine file; the zero edition, which is not older, where
// the shop has not had it. Named reports whether it is the one of that name: the
// number, which says the version.
func EditionOf(engines []inventory.Engine, spec *shim.Engine, source, name string) (place Edition, named bool) {
	known, had := inventory.KnownEngine(engines, *spec, source)
	if !had {
		return Edition{}, false
	}
	return Editions(engines)[known.ID], name == fmt.Sprint(known.ID)
}

// versions are those of a model, judged in the state: a file with limits for a cold
// and for a warm engine is kept once for each.
func versions(engines []inventory.Engine, model string, state shim.State) []inventory.Engine {
	return slices.DeleteFunc(inventory.Versions(engines, model), func(e inventory.Engine) bool { return e.Spec.State != state })
}

// Newest is the newest version of a model, judged in the state; nil where the
// shop had none.
func Newest(engines []inventory.Engine, model string, state shim.State) *inventory.Engine {
	list := versions(engines, model, state)
	if len(list) == 0 {
		return nil
	}
	return &list[len(list)-1]
}

// Replaced is the version that an engine file comes in the place of, and the jobs
// at work that go by an older one. It is nil where the file is not new, or the
// model is.
func Replaced(engines []inventory.Engine, jobs []inventory.Job, spec *shim.Engine, source string) (*inventory.Engine, []inventory.Job) {
	old := Newest(engines, spec.Name, spec.State)
	if _, had := inventory.KnownEngine(engines, *spec, source); had || old == nil {
		return nil, nil
	}
	var behind []inventory.Job
	for _, j := range jobs {
		if inventory.SameModel(j.Name, spec.Name) && !j.State.Final() {
			behind = append(behind, j)
		}
	}
	return old, behind
}
