package inventory

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"shimwright/shim"
)

// An Opening is what is known when a job is taken in.
type Opening struct {
	Spec   shim.Engine
	Source string // the engine file's text; names the engine for later jobs
	Tag    string
	Meter  string // odometer or hours with their unit
	Note   string
	Date   time.Time // when it came in; zero for now
}

// OpenJob takes in an engine.
func (s *Shop) OpenJob(ctx context.Context, o Opening) (job Job, err error) {
	if problems := o.Spec.Validate(); len(problems) > 0 {
		return Job{}, Fail(ErrInvalid, problems[0].Hint, "%s: %s", problems[0].Key, problems[0].Message)
	}
	if o.Source == "" {
		return Job{}, Fail(ErrInvalid, "give the engine file", "the engine has no source text")
	}
	for name, text := range map[string]string{"tag": o.Tag, "odometer": o.Meter, "note": o.Note} {
		if err := validText(name, text); err != nil {
			return Job{}, err
		}
	}
	_, err = s.update(ctx, func(b *booking) error {
		opened := o.Date.UTC().Truncate(time.Second)
		if o.Date.IsZero() {
			opened = b.at
		}
		if err := OnTime(opened); err != nil {
			return err
		}
		engine, err := b.engine(o)
		if err != nil {
			return err
		}
		job = Job{
			Engine: engine, Name: o.Spec.Name, Diameter: o.Spec.Diameter, Tag: strings.TrimSpace(o.Tag), Meter: o.Meter, Note: o.Note,
			State: Open, Who: s.who, Opened: opened, Changed: b.at,
		}
		job.ID, err = b.AddJob(job)
		job = job.sealed()
		return err
	})
	return job, err
}

// engine finds the engine or adds it.
func (b *booking) engine(o Opening) (int64, error) {
	data, err := json.Marshal(o.Spec)
	if err != nil {
		return 0, err
	}
	e := Engine{Spec: o.Spec, Data: data, Source: o.Source}.sealed()
	known, err := b.FindEngine(e.Seal)
	switch {
	case err == nil:
		return known.ID, nil
	case !errors.Is(err, ErrUnknown):
		return 0, err
	}
	had, err := b.Engines(Page{})
	if err != nil {
		return 0, err
	}
	if known, found := KnownEngine(had, o.Spec, o.Source); found {
		return known.ID, nil
	}
	return b.AddEngine(e)
}

// Engines lists the engines that the shop has had.
func (s *Shop) Engines(ctx context.Context, p Page) (list []Engine, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Engines(p)
		return err
	})
	return list, err
}
