package survey

import (
	"testing"

	"wakeledger/wake"
)

// Names by the rules of the trade, with the unit that the header carries.
func TestHeadings(t *testing.T) {
	const none = wake.NumQuantities
	for _, c := range []struct {
		header string
		q      wake.Quantity
		unit   string
	}{
		{"x", wake.X, ""}, {"Z", wake.Z, ""}, {"U", wake.U, ""}, {"rho", wake.Rho, ""}, {"ρ", wake.Rho, ""}, {"k", wake.K, ""},
		{"TKE", wake.K, ""}, {"Turbulent Kinetic Energy (J/kg)", wake.K, "J/kg"}, {"TurbulenceKineticEnergy", wake.K, ""},
		{"Position X", wake.X, ""}, {"y-coordinate [mm]", wake.Y, "mm"}, {"coordZ", wake.Z, ""}, {"Point_k", wake.Z, ""}, {"X Location (in)", wake.X, "in"},
		{"velocity_x", wake.U, ""}, {"VelocityY", wake.V, ""}, {"z velocity [m/s]", wake.W, "m/s"}, {"u velocity", wake.U, ""}, {"Velocity[X] (m/s)", wake.U, "m/s"},
		{"vx", wake.U, ""}, {"uz", wake.W, ""}, {"U:y", wake.V, ""}, {"u_k", wake.W, ""}, {"Vel j", wake.V, ""},
		{"Velocity[i]", wake.U, ""}, {"Velocity[j]", wake.V, ""}, {"Velocity[k]", wake.W, ""}, {"velocity (J)", wake.V, ""}, {"U[j]", wake.V, ""}, {"Centroid[k]", wake.Z, ""}, {"Velocity[j] (m/s)", wake.V, "m/s"}, {"x [m]", wake.X, "m"}, {"k [J/kg]", wake.K, "J/kg"},
		{"p", wake.P, ""}, {"Static Pressure [hPa]", wake.P, "hPa"}, {"pressure", wake.P, ""}, {"p_static", wake.P, ""}, {"Gauge pressure, kPa", wake.P, "kPa"},
		{"pt", wake.Pt, ""}, {"p_t", wake.Pt, ""}, {"Total Pressure", wake.Pt, ""}, {"StagnationPressure", wake.Pt, ""}, {"p total", wake.Pt, ""},
		{"cp", wake.Cp, ""}, {"C_p [-]", wake.Cp, "-"}, {"Pressure Coefficient", wake.Cp, ""}, {"Cp (1)", wake.Cp, "1"}, {"cp/1", wake.Cp, "1"}, {"cpt", wake.Cpt, ""}, {"total pressure coefficient", wake.Cpt, ""}, {"cp [%]", wake.Cp, "%"},
		{"density [kg/m^3]", wake.Rho, "kg/m^3"}, {"rho_kg_m3", wake.Rho, "kg/m3"}, {"Density kg/m3", wake.Rho, "kg/m3"},
		{"uu", wake.UU, ""}, {"u'u'", wake.UU, ""}, {"<v'v'> [m2/s2]", wake.VV, "m2/s2"}, {"w'^2", wake.WW, ""}, {"u'²", wake.UU, ""}, {"upup", wake.UU, ""},
		{"ReynoldsStress:xx", wake.UU, ""}, {"Reynolds Stress YY", wake.VV, ""}, {"R33", wake.WW, ""}, {"R_uu", wake.UU, ""}, {"ReynoldsStress[zz]", wake.WW, ""},
		{"area", wake.Area, ""}, {"Cell Area [m2]", wake.Area, "m2"}, {"area_mm2", wake.Area, "mm2"},
		{"UMeanX", wake.U, ""}, {"mean u [m/s]", wake.U, "m/s"}, {"pMean", wake.P, ""}, {"umean", wake.U, ""}, {"avg_w", wake.W, ""}, {"meanp", wake.P, ""}, {"uuMean", wake.UU, ""},
		{"x_mm", wake.X, "mm"}, {"z_in", wake.Z, "in"}, {"u_ms", wake.U, "m/s"}, {"u_m_s", wake.U, "m/s"}, {"v_kmh", wake.V, "km/h"}, {"k_m2s2", wake.K, "m2/s2"}, {"velocity_x_mps", wake.U, "mps"}, {"p_Pa", wake.P, "Pa"},
		{"u/(m/s)", wake.U, "m/s"}, {"p/Pa", wake.P, "Pa"}, {"rho / (kg/m3)", wake.Rho, "kg/m3"}, {"x in mm", wake.X, "mm"}, {"U, m s^-1", wake.U, "m s^-1"}, {"u m/s", wake.U, "m/s"},
		{"p {Pa}", wake.P, "Pa"}, {"k [kg/(m s2)]", wake.K, "kg/(m s2)"}, // an odd unit is not the name's affair

		{"velocity", none, ""}, {"Velocity Magnitude", none, ""}, {"speed", none, ""}, {"dynamic pressure", none, ""}, {"x/c", none, ""}, {"u/U", none, ""}, {"uu/U2", none, ""}, {"y+", none, ""}, {"u*", none, ""}, {"-w", none, ""}, {"total static pressure", none, ""}, {"kinematic pressure coefficient", none, ""}, {"u-U", none, ""}, {"p∞", none, ""}, {"1-cpt", none, ""}, {"Δp", none, ""}, {"du/dx", none, ""},
		{"u'", none, ""}, {"u'v'", none, ""}, {"uv", none, ""}, {"R12", none, ""}, {"ReynoldsStress:xy", none, ""}, {"u_rms", none, ""}, {"q_ref [Pa]", none, "Pa"}, {"p_ref [Pa]", none, "Pa"},
		{"T01 [Pa]", none, "Pa"}, {"time [s]", none, "s"}, {"id", none, ""}, {"p0", none, ""}, {"area:0", none, ""}, {"vorticity_x", none, ""}, {"wall shear x", none, ""}, {"u_m", none, ""}, {"", none, ""},
	} {
		h := parseHeading(c.header)
		ms := []meaning{h.meaning}
		settleIndices(ms) // a lone index is no component
		if ms[0].q != c.q || h.unit != c.unit {
			t.Errorf("%q: %s with unit %q, want %s with %q", c.header, ms[0].q, h.unit, c.q, c.unit)
		}
	}
}

func TestIndexedNames(t *testing.T) {
	const none = wake.NumQuantities
	for _, c := range []struct {
		headers []string
		want    []wake.Quantity
	}{
		{[]string{"U:0", "U:1", "U:2"}, []wake.Quantity{wake.U, wake.V, wake.W}},
		{[]string{"vel[1]", "vel[2]", "vel[3]"}, []wake.Quantity{wake.U, wake.V, wake.W}},
		{[]string{"Velocity_2", "Velocity_0", "Velocity_1"}, []wake.Quantity{wake.W, wake.U, wake.V}},
		{[]string{"U(0)", "U(1)"}, []wake.Quantity{wake.U, wake.V}},
		{[]string{"U(1)", "U(2)"}, []wake.Quantity{none, none}}, // from 0 or from 1?
		{[]string{"U:0", "U:1", "U:2", "U:3"}, []wake.Quantity{none, none, none, none}},
		{[]string{"Points_0", "Points_1", "Points_2", "u"}, []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U}},
		{[]string{"v0", "v1", "v2"}, []wake.Quantity{wake.U, wake.V, wake.W}},
		{[]string{"u", "v", "w"}, []wake.Quantity{wake.U, wake.V, wake.W}},
	} {
		ms := make([]meaning, len(c.headers))
		for i, h := range c.headers {
			ms[i] = parseHeading(h).meaning
		}
		settleIndices(ms)
		for i := range ms {
			if ms[i].q != c.want[i] {
				t.Errorf("%q: %s is %s, want %s", c.headers, c.headers[i], ms[i].q, c.want[i])
			}
		}
	}
}
