package mount_test

import (
	"reflect"
	"strings"
	"testing"

	"midstroke/internal/mount"
)

// Every name is read back as what it names, and nothing else is a name.
func TestNames(t *testing.T) {
	for _, name := range mount.Styles.All() {
		s, ok := mount.Styles.Parse(name)
		same(t, name, ok && s.String() == name, true)
	}
	for _, name := range mount.Planes.All() {
		p, ok := mount.Planes.Parse(name)
		same(t, name, ok && p.String() == name, true)
	}
	for _, name := range []string{"single", "double"} {
		s, ok := mount.Shears.Parse(name)
		same(t, name, ok && s.String() == name, true)
	}
	for _, name := range []string{"actual", "nominal"} {
		b, ok := mount.BoreIsNames.Parse(name)
		same(t, name, ok && b.String() == name, true)
	}
	for _, name := range []string{"", "triple", "Eye", "eye "} {
		_, style := mount.Styles.Parse(name)
		_, plane := mount.Planes.Parse(name)
		_, shear := mount.Shears.Parse(name)
		_, boreIs := mount.BoreIsNames.Parse(name)
		same(t, name, style || plane || shear || boreIs, false)
	}
}

func TestPlanesOfStyles(t *testing.T) {
	of := 0
	for _, style := range []mount.Style{mount.Eye, mount.Stud, mount.BarPin} {
		planes := style.Planes()
		of += len(planes)
		same(t, style.String(), mount.StylesOwn.Or(style), planes[0])
		same(t, style.String(), mount.StudTip.Or(style), mount.StudTip)
	}
	same(t, "every plane belongs to one style", of, len(mount.Planes.All()))
	same(t, "a fork has none", mount.StylesOwn.Or(mount.Fork), mount.StylesOwn)
}

// Every field of an end but its style is one measure's, and every style that
// bolts up has planes and measures.
func TestMeasuresOfStyles(t *testing.T) {
	same(t, "measures", len(mount.Measures()), reflect.TypeFor[mount.End]().NumField()-1)
	places := map[any]bool{}
	var end mount.End
	for i := range mount.Measures() {
		m := &mount.Measures()[i]
		same(t, m.Name+" isn't given", m.Given(&end), false)
		switch {
		case m.Length != nil:
			places[m.Length(&end)] = true
			*m.Length(&end) = 1
		case m.Thread != nil:
			places[m.Thread(&end)] = true
			m.Thread(&end).Diameter = 1
		default:
			places[m.BoreIs(&end)] = true
			*m.BoreIs(&end) = mount.Nominal
		}
		same(t, m.Name+" is given", m.Given(&end), true)
	}
	same(t, "each has a place of its own", len(places), len(mount.Measures()))
	of := map[mount.Style]int{}
	for _, m := range mount.Measures() {
		of[m.Style]++
	}
	for _, name := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(name)
		same(t, name, style.Bolted(), len(style.Planes()) > 0)
		same(t, name, style.Bolted(), of[style] > 0)
		delete(of, style)
	}
	same(t, "measures of no style", len(of), 0)
	same(t, "names", strings.Join(mount.BoltedStyleNames(), " "), "eye stud bar_pin")
}

func TestUnknownPricesComeLast(t *testing.T) {
	if mount.NoPrice.OrDearest() <= mount.Price(1e15).OrDearest() {
		t.Error("a price that isn't known comes before one that is")
	}
	same(t, "a price", mount.Price(120).OrDearest(), 120)
	same(t, "limits", mount.NewShelf(nil, nil, nil, mount.UsualLimits()).Limits(), mount.UsualLimits())
}
