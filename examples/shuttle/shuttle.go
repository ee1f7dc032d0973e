// Package shuttle holds the example study: a campus shuttle with exposed wheels,
// bare, with a fairing behind each front wheel, and with a flare ahead of each.
// The planes were simulated for this project; README.md beside this file says how.
package shuttle

import "embed"

// Study is the name of the study file among Files.
const Study = "study.toml"

// Files holds the study file, its planes and their description.
//
//go:embed study.toml README.md *.csv.zst
var Files embed.FS
