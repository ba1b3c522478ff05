// Package crafts holds the demo craft files. All of them are invented: small
// towed craft of a club on a quiet reed lake that is on no map.
package crafts

import "embed"

// Files holds the craft files, each <name>.json at its root.
//
//go:embed *.json
var Files embed.FS
