//go:build !browser

package main

// watchedEdits are few where tests are to be quick; those of .ci/run do ten times as many.
const watchedEdits = 200
