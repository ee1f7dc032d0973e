package wake

// refusal carries an error from where it is found to Attempt.
type refusal struct{ error }

// Attempt calls f and returns the error that Stop ends it with. Readers find faults deep in
// what they take apart, with nothing left to do on the way up.
func Attempt(f func()) (err error) {
	defer func() {
		switch e := recover().(type) {
		case nil:
		case refusal:
			err = e.error
		default:
			panic(e)
		}
	}()
	f()
	return nil
}

// Stop ends the Attempt around it with an error, if it is one.
func Stop(err error) {
	if err != nil {
		panic(refusal{err})
	}
}
