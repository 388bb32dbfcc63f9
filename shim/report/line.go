package report

import (
	"bytes"
	"encoding/json"
	"strconv"

	"shimwright/shim"
)

// appendTo appends the row as encoding/json writes it, which a test holds it
// to. A large plan is almost all such lines: this takes a fifth of the time.
func (r *valveJSON) appendTo(b []byte) ([]byte, error) {
	if r.doubtJSON != (doubtJSON{}) || r.Over != nil {
		return appendJSON(b, r)
	}
	b = append(b, `{"valve":`...)
	b = appendString(b, r.Valve.String())
	b = appendLength(b, `,"tight_mm":`, &r.Tight)
	b = appendLength(b, `,"loose_mm":`, &r.Loose)
	b = appendLength(b, `,"aim_mm":`, &r.Aim)
	b = appendLength(b, `,"clearance_mm":`, r.Clearance)
	b = appendLength(b, `,"installed_mm":`, r.Installed)
	b = append(b, `,"verdict":`...)
	b = appendString(b, r.Verdict.String())
	b = append(b, `,"open":`...)
	b = strconv.AppendBool(b, r.Open)
	b = append(b, `,"action":`...)
	b = appendString(b, r.Action.String())
	b = appendLength(b, `,"shim_mm":`, r.Shim)
	b = append(b, `,"from":`...)
	if r.From != nil {
		b = appendString(b, r.From.String())
	} else {
		b = append(b, "null"...)
	}
	if r.FromJob != "" {
		b = append(b, `,"from_job":`...)
		b = appendString(b, r.FromJob)
	}
	b = appendLength(b, `,"predicted_mm":`, r.Predicted)
	b = append(b, `,"near":`...)
	b = strconv.AppendBool(b, r.Near)
	b = append(b, `,"reason":`...)
	b = appendString(b, r.Reason)
	if r.Change {
		b = append(b, `,"must_change":true`...)
	}
	if r.Undecided {
		b = append(b, `,"undecided":true`...)
	}
	return append(b, '}'), nil
}

// appendLength appends a name and the length behind it.
func appendLength(b []byte, name string, l *shim.Length) []byte {
	b = append(b, name...)
	if l == nil {
		return append(b, "null"...)
	}
	number, _ := l.MarshalJSON() // never an error
	return append(b, number...)
}

// appendString appends a string of JSON.
func appendString(b []byte, s string) []byte {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			b, _ = appendJSON(b, s) // a string is never an error
			return b
		}
	}
	b = append(b, '"')
	b = append(b, s...)
	return append(b, '"')
}

// appendJSON appends any value, as a lineEncoder writes it.
func appendJSON(b []byte, v any) ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	err := encoder.Encode(v)
	return append(b, bytes.TrimSuffix(out.Bytes(), []byte("\n"))...), err
}
