package vlm

// Refined tells how the images are refined at a placement: where it changes the
// loads make a small jump, across which no difference may be taken.
func (l *Lattice) Refined(at Placement) string {
	pose, err := l.Pose(at.Pitch)
	if err != nil {
		return err.Error()
	}
	var all []byte
	finer := make([]byte, len(l.grids))
	for _, g := range l.grids {
		pose.refine(finer, g.sheet, at.Height)
		all = append(all, finer...)
	}
	return string(all)
}
