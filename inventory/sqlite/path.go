package sqlite

import (
	"path/filepath"

	"shimwright/inventory"
	"shimwright/shim"
)

// An Environment is what [Path] asks the system; the command gives the real
// one, a test its own.
type Environment struct {
	OS     string // as runtime.GOOS has it
	Getenv func(string) string
	Home   func() (string, error)
}

// Path finds the shop file: the named one, else what SHIMWRIGHT_SHOP says,
// else shop.db in the platform's folder for data ($XDG_DATA_HOME as the XDG
// Base Directory Specification 0.8 has it, Application Support on macOS,
// %LOCALAPPDATA% on Windows).
func Path(named string, env Environment) (string, error) {
	if named != "" {
		return named, nil
	}
	if path := env.Getenv("SHIMWRIGHT_SHOP"); path != "" {
		return path, nil
	}
	folder := ""
	switch env.OS {
	case "windows":
		folder = env.Getenv("LOCALAPPDATA")
	case "darwin", "ios":
	default:
		// A relative path is to be ignored, says the specification.
		if folder = env.Getenv("XDG_DATA_HOME"); !filepath.IsAbs(folder) {
			folder = ""
		}
	}
	if folder == "" {
		home, err := env.Home()
		if err != nil {
			return "", shim.Fail(inventory.ErrMissing, "name the shop file with --shop or SHIMWRIGHT_SHOP", "found no folder for the shop file: %v", err)
		}
		switch env.OS {
		case "windows":
			folder = filepath.Join(home, "AppData", "Local")
		case "darwin", "ios":
			folder = filepath.Join(home, "Library", "Application Support")
		default:
			folder = filepath.Join(home, ".local", "share")
		}
	}
	return filepath.Join(folder, "shimwright", "shop.db"), nil
}
