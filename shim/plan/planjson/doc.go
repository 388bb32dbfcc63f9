// Package planjson writes plans as JSON and reads them back. docs/json.md
// describes the fields: they are a contract, to which fields are added, and none
// is renamed or removed. What earlier versions wrote is read as well.
package planjson
