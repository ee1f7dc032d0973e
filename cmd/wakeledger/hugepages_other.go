//go:build !linux

package main

// hugePages has nothing to ask for where the system chooses the size of pages itself.
func hugePages([]string) {}
