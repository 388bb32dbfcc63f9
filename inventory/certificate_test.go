package inventory

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// Whatever a certificate says otherwise is said of its next issue, and has a name of
// its own: each field of the data is changed once.
func TestEveryChangeOfACertificateIsSaid(t *testing.T) {
	size := func(l shim.Length) *shim.Length { return &l }
	full := func() CertificateData {
		at := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
		read := CertificateReading{Text: "0.12", Clearance: size(118_000), Is: "ok", Counts: true, Check: 1, Temperature: 300_150}
		found, left := read, read
		return CertificateData{
			Shop: "a", Customer: "b", Machine: 1, Tag: "c", Serial: "d", Meter: "e", MeterNew: "f", Reset: "g", Opened: at, Closed: at, Anyway: true, Build: true,
			Model: CertificateModel{"h", 1, "0123456789abcdef", "cold"}, Units: "mm", ShimUnits: "mm",
			Checks:   []CertificateCheck{{1, CheckBefore, at, "i", "j", []shim.Temperature{300_150}, &CertificateGauge{"k", "l", "m", "n", true}}},
			Valves:   []CertificateValve{{"in1a", 1, 2, 3, 7, &found, &left, size(4), size(5), size(6), "o", true, false, "p", "q"}},
			Unproven: []string{"r"}, Notes: []string{"s"}, Note: "u", Remark: "v", CheckedBy: "w", ApprovedBy: "x",
		}
	}
	names := map[string]bool{}
	for _, s := range full().said() {
		assert.False(t, names[s.what], "two things are called %q", s.what)
		names[s.what] = true
	}
	assert.Empty(t, full().changes(full()))
	fields := 0
	var walk func(path string, at func(*CertificateData) reflect.Value)
	walk = func(path string, at func(*CertificateData) reflect.Value) {
		d := full()
		v := at(&d)
		switch {
		case v.Kind() == reflect.Struct && v.Type() != reflect.TypeFor[time.Time]():
			for i := range v.NumField() {
				walk(path+"."+v.Type().Field(i).Name, func(d *CertificateData) reflect.Value { return at(d).Field(i) })
			}
			return
		case v.Kind() == reflect.Pointer:
			walk(path, func(d *CertificateData) reflect.Value { return at(d).Elem() })
			v.SetZero()
		case v.Kind() == reflect.Slice:
			walk(path+"[0]", func(d *CertificateData) reflect.Value { return at(d).Index(0) })
			v.SetZero()
		case v.Kind() == reflect.String:
			v.SetString("~" + v.String())
		case v.Kind() == reflect.Bool:
			v.SetBool(!v.Bool())
		case v.CanInt():
			v.SetInt(v.Int() + 1000)
		case v.Type() == reflect.TypeFor[time.Time]():
			v.Set(reflect.ValueOf(v.Interface().(time.Time).Add(time.Hour)))
		default:
			require.Fail(t, "no change for "+path)
		}
		fields++
		assert.NotEmpty(t, full().changes(d), path)
		assert.NotEmpty(t, d.changes(full()), path+", back")
	}
	walk("data", func(d *CertificateData) reflect.Value { return reflect.ValueOf(d).Elem() })
	assert.Greater(t, fields, 50)
}
