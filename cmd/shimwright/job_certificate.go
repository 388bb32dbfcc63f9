package main

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobCertificateOptions struct {
	out, name, remark, checkedBy, approvedBy string
	issue                                    int
	anyway                                   bool
	output                                   *choice
}

func newJobCertificate(a *app) *cobra.Command {
	o := &jobCertificateOptions{}
	cmd := &cobra.Command{
		Use:   "certificate JOB",
		Short: "Print the as found / as left certificate of a closed job",
		Long: `certificate prints how each valve was found and left, as a page for print: limits
and their version, readings, shims, the gauge sets with their calibration, who
measured, and where it stands in the shop's ledger.

A job has one certificate, and the shop keeps it. Printed again it is the same, byte
for byte. Where the record or what you add here says something else by now, another
issue is made that names the one it replaces and what changed; --issue prints an
earlier one again.

See docs/certificate.md.`,
		Example: `  shimwright job certificate 12 --checked-by "A. Example" --out c12.html
  shimwright job certificate 12 --remark "stem seals new" --out c12.html
  shimwright job certificate 12 --issue 1 --out first.html
  shimwright job certificate 12 --output json`,
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(inventory.StateClosed),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobCertificate(cmd, a, o, args) },
	}
	addOut(cmd, &o.out)
	flags := cmd.Flags()
	flags.StringVar(&o.name, "name", "", "your shop's name; it stays for the next issue, as the other texts do")
	flags.StringVar(&o.remark, "remark", "", "a remark")
	flags.StringVar(&o.checkedBy, "checked-by", "", "`NAME` of who checked it")
	flags.StringVar(&o.approvedBy, "approved-by", "", "`NAME` of who approved it")
	flags.IntVar(&o.issue, "issue", 0, "print this issue `NUMBER` again")
	flags.BoolVar(&o.anyway, "anyway", false, "also without a recheck: the valves then stand as not measured")
	o.output = addChoice(cmd, "output", "output format", "html", "json")
	return cmd
}

// texts are those that were said; what was not stays as in the issue before.
func (o *jobCertificateOptions) texts(cmd *cobra.Command) (t inventory.CertificateTexts, some bool) {
	for _, f := range []struct {
		flag string
		text *string
		to   **string
	}{{"name", &o.name, &t.Shop}, {"remark", &o.remark, &t.Remark}, {"checked-by", &o.checkedBy, &t.CheckedBy}, {"approved-by", &o.approvedBy, &t.ApprovedBy}} {
		if cmd.Flags().Changed(f.flag) {
			*f.to, some = f.text, true
		}
	}
	return t, some
}

func runJobCertificate(cmd *cobra.Command, a *app, o *jobCertificateOptions, args []string) error {
	texts, some := o.texts(cmd)
	switch {
	case cmd.Flags().Changed("issue") && o.issue < 1:
		return wrong("issues count from 1", "--issue: there is no issue %d", o.issue)
	case o.issue > 0 && (some || o.anyway):
		return wrong("leave --issue out to make a new issue", "an issue that was made stays as it is")
	case o.out == "" && o.output.value == "html":
		if err := a.toScreen("--out certificate.html"); err != nil {
			return err
		}
	case o.out != "":
		if err := notShop(o.out); err != nil {
			return err
		}
	}
	if o.issue > 0 {
		return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
			p, err := printedAgain(ctx, shop, args[0], o.issue, "")
			if err != nil {
				return err
			}
			if err := o.print(a, p); err != nil || o.out == "" {
				return err
			}
			return a.tell(said(o.says(p)...))
		})
	}
	key, _, err := keyOf(cmd)
	if err != nil {
		return err
	}
	var done inventory.Printed
	err = a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], true)
		if err != nil {
			return err
		}
		done, err = shop.Issue(ctx, f.Job.ID, inventory.Issuing{
			CertificateTexts: texts, Unmeasured: o.anyway,
			Warmth: func(e *shim.Engine, list []shim.Measurement) []string {
				return report.Warmth(e, e.Units.Clearance, list)
			},
			Page: func(c inventory.Certificate) ([]byte, error) {
				return bytesOf(func(w io.Writer) error { return certificatePage(w, c) })
			},
		})
		if err != nil {
			return err
		}
		if o.out != "" { // written once it is booked
			return a.tell(said(o.says(done)...))
		}
		if err := o.print(a, done); err != nil {
			return err
		}
		return (&report.Document{Sections: []report.Section{said(o.says(done)...)}}).Narrow(a.places).Text(a.err, false)
	})
	if err != nil || o.out == "" {
		return err
	}
	if done.Issue == 0 { // booked under this key before
		err = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) (err error) {
			done, err = printedAgain(ctx, shop, args[0], 0, key)
			return err
		})
		if err != nil {
			return err
		}
	}
	if err = o.print(a, done); err != nil && done.Made {
		return stands(0, err)
	}
	return err
}

// printedAgain reads an issue of a job's certificate, see [inventory.Shop.Printed].
func printedAgain(ctx context.Context, shop *inventory.Shop, job string, issue int, key string) (inventory.Printed, error) {
	f, err := fileNamed(ctx, shop, job, true)
	if err != nil {
		return inventory.Printed{}, err
	}
	return shop.Printed(ctx, f.Job.ID, issue, key)
}

// bytesOf is all that a function writes.
func bytesOf(print func(w io.Writer) error) ([]byte, error) {
	var b bytes.Buffer
	err := print(&b)
	return b.Bytes(), err
}

// print writes the certificate where it is asked for.
func (o *jobCertificateOptions) print(a *app, p inventory.Printed) error {
	return a.writeTo(o.out, func(w io.Writer) error {
		if o.output.value == "json" {
			return writeJSON(w, p.Certificate)
		}
		_, err := w.Write(p.Page)
		return err
	})
}

// says tells which issue it is, what it changes and what it does not prove.
func (o *jobCertificateOptions) says(p inventory.Printed) []string {
	name := fmt.Sprintf("Certificate %d: job %d, issue %d of %s", p.Number, p.Job, p.Issue, day(p.Issued))
	if o.out != "" {
		name += ", to " + shim.Visible(o.out)
	}
	lines := []string{name + "."}
	switch {
	case p.Issue < p.Last:
		lines = append(lines, fmt.Sprintf("CAUTION: it was replaced, the newest is issue %d.", p.Last))
	case !p.Made:
		lines = append(lines, "Nothing has changed since; it is the one that was printed before.")
	case p.Replaces != nil:
		lines = append(append(lines, replacesText(p.Certificate)), changesText(p.Certificate)...)
	}
	if len(p.Unproven) > 0 {
		lines = append(lines, "Not proven: "+joined(short(p.Unproven))+".")
	}
	return lines
}

// maxChangesSaid is how many changes are listed in words; all are in the JSON.
const maxChangesSaid = 8

func replacesText(c inventory.Certificate) string {
	return fmt.Sprintf("Replaces issue %d of %s.", c.Replaces.Issue, day(c.Replaces.Issued))
}

// changesText says what an issue says otherwise than the one that it replaces.
func changesText(c inventory.Certificate) (lines []string) {
	for _, change := range c.Changes[:min(maxChangesSaid, len(c.Changes))] {
		lines = append(lines, fmt.Sprintf("%s: was %s, now %s.", change.What, quoted(change.Old), quoted(change.New)))
	}
	if more := len(c.Changes) - maxChangesSaid; more > 0 {
		lines = append(lines, fmt.Sprintf("%d more.", more))
	}
	return lines
}

// certificatesText names the issues of a job's certificate, the newest one.
func certificatesText(list []inventory.Certificate) string {
	if len(list) == 0 {
		return ""
	}
	last := list[len(list)-1]
	return fmt.Sprintf("certificate %d, issue %d of %s", last.Number, last.Issue, day(last.Issued))
}
