package rake

// The layout file as TOML has it. Physical values are numbers in SI or texts with
// units, hence any.
type layoutFile struct {
	Title    string    `toml:"title"`
	Frame    string    `toml:"frame"`
	Attitude any       `toml:"attitude"`
	Ignore   []string  `toml:"ignore"`
	Datum    threeFile `toml:"datum"`
	Traverse struct {
		X       string   `toml:"x"`
		Y       string   `toml:"y"`
		Z       string   `toml:"z"`
		Roll    string   `toml:"roll"`
		Reverse []string `toml:"reverse"`
		XLimits []any    `toml:"x_limits"`
		YLimits []any    `toml:"y_limits"`
		ZLimits []any    `toml:"z_limits"`
	} `toml:"traverse"`
	Reference struct {
		Q        string `toml:"q"`
		Pressure string `toml:"pressure"`
		Total    string `toml:"total"`
		Time     string `toml:"time"`
		Readings string `toml:"readings"`
		Speed    any    `toml:"speed"`
		Density  any    `toml:"density"`
	} `toml:"reference"`
	WindOff struct {
		Column string `toml:"column"`
		Value  string `toml:"value"`
		QBelow any    `toml:"q_below"`
		Rows   []int  `toml:"rows"`
	} `toml:"wind_off"`
	Tubes       []tubesFile    `toml:"tubes"`
	Probes      []probeFile    `toml:"probe"`
	Corrections map[string]any `toml:"corrections"`
	Line        *struct {
		Chord     any    `toml:"chord"`
		Pressure  string `toml:"pressure"`
		Threshold any    `toml:"threshold"`
	} `toml:"line"`
	Uncertainty struct {
		Q        any `toml:"q"`
		Position any `toml:"position"`
	} `toml:"uncertainty"`
}

type threeFile struct {
	X any `toml:"x"`
	Y any `toml:"y"`
	Z any `toml:"z"`
}

type tubesFile struct {
	Kind     string   `toml:"kind"`
	Columns  []string `toml:"columns"`
	Along    []any    `toml:"along"`
	First    any      `toml:"first"`
	Step     any      `toml:"step"`
	Across   any      `toml:"across"`
	Aft      any      `toml:"aft"`
	Angle    any      `toml:"angle"`
	Diameter any      `toml:"diameter"`
	Bore     any      `toml:"bore"`
	Factor   any      `toml:"factor"`
	Factors  []any    `toml:"factors"`
	Zeros    []any    `toml:"zeros"`
}

type probeFile struct {
	Name       string `toml:"name"`
	Along      any    `toml:"along"`
	Across     any    `toml:"across"`
	Aft        any    `toml:"aft"`
	Angle      any    `toml:"angle"`
	U          string `toml:"u"`
	V          string `toml:"v"`
	W          string `toml:"w"`
	Total      string `toml:"total"`
	Static     string `toml:"static"`
	Pitch      string `toml:"pitch"`
	Yaw        string `toml:"yaw"`
	Acceptance any    `toml:"acceptance"`
}

// known lists the keys of each table, for the cure of an unknown one.
var known = map[string]string{
	"":            "title, frame, attitude, ignore, datum, traverse, reference, wind_off, tubes, probe, corrections, line, uncertainty",
	"datum":       "x, y, z",
	"traverse":    "x, y, z, roll, reverse, x_limits, y_limits, z_limits",
	"reference":   "q, pressure, total, time, readings, speed, density",
	"wind_off":    "column, value, q_below, rows",
	"tubes":       "kind, columns, along, first, step, across, aft, angle, diameter, bore, factor, factors, zeros",
	"probe":       "name, along, across, aft, angle, u, v, w, total, static, pitch, yaw, acceptance",
	"line":        "chord, pressure, threshold",
	"uncertainty": "q, position",
}
