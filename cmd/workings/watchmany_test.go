//go:build browser

package main

const watchedEdits = 2000
