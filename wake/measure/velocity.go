package measure

// VelocityDensity is 2u(1−u), the momentum deficit of the velocity alone. It is
// not a drag: without the pressure term a plane behind a body in ideal flow, which
// has none, reads about 1 m² for a sphere of 1 m radius (see the tests).
func VelocityDensity(u float64) float64 { return 2 * u * (1 - u) }
