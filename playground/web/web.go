// Package web holds the page's files as they stand in this folder.
package web

import "embed"

// Files are index.html and all that it asks for, but for the solver and its glue.
//
//go:embed index.html *.css *.svg sw.js js
var Files embed.FS
