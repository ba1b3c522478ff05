package exchange

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

type led struct {
	B int `json:"b"`
}

func (led) AppendLead(b []byte) []byte { return append(b, `"a":1,`...) }

func TestAnswersAndRefusals(t *testing.T) {
	for _, c := range []struct {
		name, text string
		answer     func() (any, error)
		want       string
		forgets    bool
	}{
		{"an answer", `{"id":3}`, func() (any, error) { return led{2}, nil }, `{"id":3,"ok":true,"a":1,"b":2}`, false},
		{"an error", `{"id":3}`, func() (any, error) { return nil, errors.New("no") }, `{"id":3,"ok":false,"problems":[{"path":"","text":"no"}]}`, false},
		{"beside a control", `{"id":3}`, func() (any, error) { return nil, Within("top_m", "the top", .3, 1, 2, units.Unit{Name: "m", Size: 1}) },
			`{"id":3,"ok":false,"problems":[{"path":"top_m","text":"the top is 0.3 m; give a value between 1 and 2 m"}]}`, false},
		{"of the file", `{"id":3}`, func() (any, error) { return nil, gecp.Problems{{Path: "tow", Text: "none"}} }, `{"id":3,"ok":false,"problems":[{"path":"tow","text":"none"}]}`, false},
		{"not to be read", `{"id":`, func() (any, error) { return led{}, nil }, `{"id":0,"ok":false,"problems":[{"path":"","text":"the page asked in a way the solver does not understand: unexpected end of JSON input"}]}`, false},
		{"not to be written", `{"id":3}`, func() (any, error) { return func() {}, nil }, `{"id":3,"ok":false,"problems":[{"path":"","text":"the answer cannot be written: json: unsupported type: func()"}]}`, false},
		{"a panic", `{"id":3}`, func() (any, error) { panic("lost") }, `{"id":3,"ok":false,"problems":[{"path":"","text":"` + GaveUp + `: lost; please keep the craft file and tell those who look after this page"}]}`, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			forgot := false
			assert.JSONEq(t, c.want, string(Answer([]byte(c.text), new(Question), c.answer, func() { forgot = true })))
			assert.Equal(t, c.forgets, forgot)
		})
	}
}

func TestWhatAQuestionMayCarry(t *testing.T) {
	for _, c := range []struct {
		speed, limit   float64
		speedOK, limOK bool
	}{{1, .05, true, true}, {60, 5, true, true}, {.99, .049, false, false}, {60.1, 5.01, false, false}} {
		q := Question{SpeedMPS: c.speed, LimitM: c.limit}
		assert.Equal(t, c.speedOK, q.CheckSpeed() == nil, "%v m/s", c.speed)
		assert.Equal(t, c.limOK, q.CheckLimit() == nil, "%v m", c.limit)
	}
	assert.Equal(t, gecp.Mesh{Rows: 2, Strips: 4}, (&Question{Fidelity: "coarse"}).Mesh())
	assert.Equal(t, gecp.DefaultMesh(), (&Question{}).Mesh())
	assert.Equal(t, units.Customary, (&Question{Units: "us"}).System())
	assert.Equal(t, units.Metric, (&Question{}).System())
}
