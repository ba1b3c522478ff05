//go:build !amd64

package vlm

// As filament.go has them.
type (
	twinWashes = washes
	twinJets   = jets
)

func (f *field) see(row []seen, o int, x, y, z, ym float64) { f.seeGo(row, o, x, y, z, ym) }
