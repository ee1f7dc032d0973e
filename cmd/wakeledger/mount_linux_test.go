package main

import "syscall"

// mountSmall makes a file system of 64 KiB; that needs root.
func mountSmall(dir string) error { return syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k") }

func unmount(dir string) error { return syscall.Unmount(dir, 0) }
