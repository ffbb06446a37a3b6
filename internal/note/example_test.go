package note_test

import (
	"fmt"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

func ExampleNote_Text() {
	n := note.New("travel_rule", note.Word("suspension", "solid_axle"),
		note.Len("least", 2*unit.Inch), note.Len("wanted", 5*unit.Inch/2))
	fmt.Println(n.Text("en", unit.Inches))
	fmt.Println(n.Text("es", unit.Millimetres))
	// Output:
	// rule of thumb for this suspension, solid axle: at least 2 in each way from ride height, 2 1/2 in wanted
	// regla para una suspensión de eje rígido: al menos 50,8 mm a cada lado de la altura de marcha, 63,5 mm deseados
}
