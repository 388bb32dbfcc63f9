package paper

import (
	"bytes"
	"embed"
	"html/template"
	"io"
	"strings"
	"sync"

	"shimwright/shim"
)

//go:embed templates
var templates embed.FS

// forms are parsed when the first one is written: no other command has to wait.
var forms = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"style": func(name string) (template.CSS, error) {
			text, err := templates.ReadFile("templates/" + name)
			// Our own file, nothing of a user's; a tab would be written out by write.
			return template.CSS(strings.ReplaceAll(string(text), "\t", " ")), err
		},
	}).ParseFS(templates, "templates/*.html"))
})

// A page is what every form has.
type page struct {
	Title string
	Foot  string // at the foot of every page
}

// write makes a form in one piece: an error leaves nothing half-written.
func write(w io.Writer, form string, data any) error {
	var b bytes.Buffer
	if err := forms().ExecuteTemplate(&b, form, data); err != nil {
		return err
	}
	_, err := io.WriteString(w, shim.VisibleLines(b.String()))
	return err
}
