//go:build unix

package main

import (
	"errors"
	"os"
	"syscall"
	"time"
)

// lockWait is how long a run waits for another one that writes into the same folder:
// far longer than writing takes.
const lockWait = 20 * time.Second

// lockFolder takes the folder for this run. The lock goes with the process, however it
// ends. held is false on a file system without locks. The error is errBusy when another
// run kept the folder all the time.
func lockFolder(dir string, wait time.Duration) (release func(), held bool, err error) {
	f, err := os.Open(dir)
	if err != nil {
		return func() {}, false, nil // writing will tell why
	}
	for step := time.Millisecond; ; step = min(2*step, 50*time.Millisecond) {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case err == nil:
			return func() { f.Close() }, true, nil
		case errors.Is(err, syscall.EINTR):
			continue
		case !errors.Is(err, syscall.EWOULDBLOCK):
			f.Close()
			return func() {}, false, nil
		}
		if wait <= 0 {
			f.Close()
			return func() {}, false, errBusy
		}
		time.Sleep(step)
		wait -= step
	}
}
