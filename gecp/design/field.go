package design

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
)

// field returns the number of a craft at a path of the craft file, such as
// wings[1].stations[0].chord_m. It can be set if the craft is addressable. An error names
// the part of the path that the craft lacks, and what it has instead.
func field(c *gecp.Craft, path string) (reflect.Value, error) {
	v := reflect.ValueOf(c).Elem()
	at := ""
	lacks := func(format string, args ...any) (reflect.Value, error) {
		return reflect.Value{}, fmt.Errorf("%s is no dimension of the craft: %s", path, fmt.Sprintf(format, args...))
	}
	for _, part := range strings.Split(path, ".") {
		name, index, indexed := strings.Cut(part, "[")
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return lacks("the craft file has no %s", at)
			}
			v = v.Elem()
		}
		if v.Kind() != reflect.Struct {
			return lacks("%s has no parts by name", at)
		}
		f, known := byKey(v, name)
		if !f.IsValid() {
			return lacks("%q is not known there; there are %s", name, strings.Join(known, ", "))
		}
		v = f
		at = strings.TrimPrefix(at+"."+name, ".")
		if !indexed {
			continue
		}
		if v.Kind() != reflect.Slice {
			return lacks("%s is no list", at)
		}
		i, err := strconv.Atoi(strings.TrimSuffix(index, "]"))
		if err != nil || !strings.HasSuffix(index, "]") {
			return lacks("write an entry of %s as %s[0]", at, at)
		}
		if i < 0 || i >= v.Len() {
			return lacks("there are %d entries in %s, counted from 0", v.Len(), at)
		}
		v = v.Index(i)
		at += "[" + strconv.Itoa(i) + "]"
	}
	if v.Kind() != reflect.Float64 {
		return lacks("%s is no number", at)
	}
	return v, nil
}

// byKey returns the field of a struct with a key in JSON, invalid if there is none, and all
// the keys.
func byKey(v reflect.Value, key string) (found reflect.Value, known []string) {
	for i := range v.NumField() {
		tag, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		if tag == key {
			found = v.Field(i)
		}
		known = append(known, tag)
	}
	return found, known
}

// value returns where the dimension of a craft stands, in the unit of the craft file; 0 for a
// shift.
func (v Variation) value(c *gecp.Craft) (float64, error) {
	if v.Path == PilotShift {
		return 0, c.Require(gecp.BlockPilot)
	}
	f, err := field(c, v.Path)
	if err != nil {
		return 0, err
	}
	return f.Float(), nil
}

// put changes the dimension of a craft, in the unit of the craft file; whether the craft still
// passes Check is not looked at. It returns an error if the craft lacks the dimension.
func (v Variation) put(c *gecp.Craft, x float64) error {
	if v.Path == PilotShift {
		if err := c.Require(gecp.BlockPilot); err != nil {
			return err
		}
		c.Pilot.XForward += x
		c.Pilot.XAft += x
		return nil
	}
	f, err := field(c, v.Path)
	if err != nil {
		return err
	}
	f.SetFloat(x)
	return nil
}

// step returns the step that a builder would make in the dimension, in its unit of the craft file: 10 mm, half
// a degree, 1 kg, and a hundredth of what has no unit.
func (v Variation) step() float64 {
	switch {
	case strings.HasSuffix(v.Path, "_deg"):
		return .5
	case strings.HasSuffix(v.Path, "_kg"):
		return 1
	}
	return .01
}
