// Package watch keeps the sheets of a folder current while its files change, and shows them to a
// browser on the same machine.
//
//   - Folder: directories below one folder → debounced changes (fsnotify).
//   - mirror: the bytes of the files that sheets are made of, each read once for all sheets.
//   - Site: which sheet depends on which file (site.go); makes those anew that a change concerns (make.go).
//   - Page: the sheet as a cold rendering gives it, its version, and the difference between two.
//   - Server: the pages on loopback, and the events that keep an open page current.
//
// It knows nothing of notebooks: what makes a page of a file is handed to it.
package watch
