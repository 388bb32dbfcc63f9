package main

import (
	"io"
	"math"
	"slices"
	"strconv"

	"shimwright/inventory"
	"shimwright/shim"
)

type visitJSON struct {
	Job    int64  `json:"job"`
	State  string `json:"state"`
	Opened string `json:"opened"`
	Meter  string `json:"meter"`
	Before string `json:"meter_before,omitempty"` // of the meter that was replaced
	Reset  string `json:"reset,omitempty"`
	Build  bool   `json:"build,omitempty"`
	Who    string `json:"who"`
	Used   bool   `json:"in_trend"`

	Warmth shim.State `json:"engine_state"` // cold or warm, as it was measured

	Certificates []certificateJSON `json:"certificates"` // the issues of its certificate

	Imported *importedJSON `json:"imported,omitempty"` // of a visit to another shop, whose job is 0
}

type certificateJSON struct {
	Certificate int64  `json:"certificate"`
	Issue       int    `json:"issue"`
	Issued      string `json:"issued"`
}

func certificatesJSON(v inventory.Visit) []certificateJSON {
	list := []certificateJSON{}
	for _, c := range v.Issues() {
		list = append(list, certificateJSON{c.Number, c.Issue, stamp(c.Issued)})
	}
	return list
}

type importedJSON struct {
	ID   string `json:"id"`
	Shop string `json:"shop"`
	Job  int64  `json:"job"`
	Day  string `json:"imported"`
}

type valveJSON struct {
	Valve string       `json:"valve"`
	Tight shim.Length  `json:"tight_mm"`
	Loose shim.Length  `json:"loose_mm"`
	Found string       `json:"found"`
	Left  string       `json:"left"`
	Stamp shim.Length  `json:"stamp_mm,omitempty"`
	Mic   shim.Length  `json:"mic_mm,omitempty"`
	Mark  string       `json:"mark,omitempty"`
	Stack *shim.Length `json:"stack_mm"`
	Moved *shim.Length `json:"moved_mm"`
	Rate  *shim.Length `json:"rate_mm,omitempty"` // per unit; positive: the gap closes
	Error *shim.Length `json:"rate_error_mm,omitempty"`
	First *float64     `json:"first_outside,omitempty"` // the chance that it is the first outside
	Out5  *float64     `json:"outside_5,omitempty"`     // meter readings
	Out50 *float64     `json:"outside_50,omitempty"`
	Out95 *float64     `json:"outside_95,omitempty"`
	Is    bool         `json:"outside,omitempty"` // its last reading proves it outside, with the shim that is in now
}

type trendJSON struct {
	Checks   int      `json:"checks"`
	Kind     string   `json:"meter_kind"`
	Unit     float64  `json:"unit"` // of the meter, that rates count by
	Since    string   `json:"since,omitempty"`
	Told     bool     `json:"told"`
	P5       *float64 `json:"first_outside_5,omitempty"`
	P10      *float64 `json:"first_outside_10,omitempty"`
	P50      *float64 `json:"first_outside_50,omitempty"`
	P95      *float64 `json:"first_outside_95,omitempty"`
	Interval *float64 `json:"maker_next,omitempty"`
	Inside   *float64 `json:"all_inside_at_maker_next,omitempty"`
	CheckBy  *float64 `json:"check_by,omitempty"`
}

// finite is a meter reading for JSON, nil for one not to be foreseen.
func finite(x float64) *float64 {
	if math.IsInf(x, 0) || x == 0 {
		return nil
	}
	x = math.Round(x)
	return &x
}

func (s machineSheet) json(w io.Writer) error {
	m, t := s.File.Machine, s.Trend
	out := struct {
		Machine int64       `json:"machine"`
		Tag     string      `json:"tag"`
		Model   string      `json:"model"`
		Number  string      `json:"number"`
		Owner   string      `json:"owner"`
		Visits  []visitJSON `json:"visits"`
		Valves  []valveJSON `json:"valves"`
		Trend   trendJSON   `json:"trend"`
	}{m.ID, m.Tag, m.Model, m.Number, m.Owner, []visitJSON{}, []valveJSON{}, trendJSON{Checks: len(t.Series.Meters), Kind: string(t.Kind), Unit: t.Series.Unit, Since: t.Began, Told: t.Told()}}
	for i, v := range s.File.Visits {
		j := v.Job
		out.Visits = append(out.Visits, visitJSON{j.ID, string(j.State), stamp(j.Opened), j.Meter, j.MeterNew, j.Reset, j.Build, j.Who, slices.Contains(t.Used, i), v.Engine.Spec.State, certificatesJSON(v), nil})
		if from := v.Imported; from != nil {
			out.Visits[i].Imported = &importedJSON{from.ID, from.Shop, from.Job, stamp(from.Day)}
		}
	}
	for _, r := range s.Rows {
		v := valveJSON{Valve: r.Valve.String(), Tight: r.Limits.Tight, Loose: r.Limits.Loose, Found: r.Found.Format(shim.MM), Left: r.Left.Format(shim.MM), Stamp: r.Shim.Stamp, Mic: r.Shim.Mic, Mark: shimMark(s.Engine(), r.Valve, r.Shim)}
		if r.Stacked {
			v.Stack = &r.Stack
		}
		if r.HasMoved {
			v.Moved = &r.Moved
		}
		v.Is = slices.Contains(t.Outside, r.Valve)
		if t.Told() {
			for _, f := range t.Forecast.Valves {
				if f.Valve == r.Valve {
					first, _ := strconv.ParseFloat(strconv.FormatFloat(f.First, 'f', 3, 64), 64)
					if v.First = &first; f.Lined {
						v.Rate, v.Error = &f.Rate, &f.RateError
					}
					v.Out5, v.Out50, v.Out95 = finite(f.Out.P5), finite(f.Out.P50), finite(f.Out.P95)
				}
			}
		}
		out.Valves = append(out.Valves, v)
	}
	if next := t.Next(); next > 0 {
		out.Trend.Interval = &next
	}
	if t.Told() {
		first := t.Forecast.First
		out.Trend.P5, out.Trend.P10, out.Trend.P50, out.Trend.P95 = finite(first.P5), finite(first.P10), finite(first.P50), finite(first.P95)
		if next := t.Next(); next > 0 {
			inside := math.Round(1e4*t.Forecast.Inside(next)) / 1e4
			out.Trend.Inside = &inside
		}
	}
	out.Trend.CheckBy = finite(t.CheckBy())
	if o, some := t.Outlook(); some && o.CheckBy > 0 {
		out.Trend.CheckBy = &o.CheckBy // rounded down
	}
	return writeJSON(w, out)
}
