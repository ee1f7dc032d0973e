//go:build !unix

package main

import "time"

const lockWait = 0 * time.Second

// lockFolder does nothing where folders cannot be locked.
func lockFolder(string, time.Duration) (release func(), held bool, err error) {
	return func() {}, false, nil
}
