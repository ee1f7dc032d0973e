package study

// unused lists what a study file may say and what no stage acts upon yet, as
// "table.key". Parse turns each one that is present into a warning. Delete an
// entry when its feature arrives.
var unused = map[string]bool{
	"configuration.repeats":      true,
	"uncertainty.speed":          true,
	"uncertainty.density":        true,
	"uncertainty.pressure":       true,
	"uncertainty.total_pressure": true,
	"uncertainty.position":       true,
	"uncertainty.solution":       true,
}
