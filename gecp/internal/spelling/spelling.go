// Package spelling tells how far a word is from another, for errors that name what may have
// been meant.
package spelling

// Distance is the least number of letters to insert, drop or change that turns
// a into b (Levenshtein 1966).
func Distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, diagonal+1, row[j]+1)
		}
	}
	return row[len(b)]
}
