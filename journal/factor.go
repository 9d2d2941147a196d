package journal

import (
	"fmt"
	"strings"
)

// Quantity says what a continuous factor measures, and so its unit.
type Quantity string

// The quantities of continuous factors, in storage units.
const (
	Words       Quantity = ""            // not a number
	Length      Quantity = "length"      // mm
	Diameter    Quantity = "diameter"    // mm
	Flow        Quantity = "flow"        // m³/s
	Temperature Quantity = "temperature" // °C
	Number      Quantity = "number"      // a plain number, such as a hook size or a month
)

// Factor is something that may make a difference to an outcome.
type Factor struct {
	Key      string   // as in commands and addresses
	Title    string   // for people
	Quantity Quantity // Words for a category
	Missing  string   // what is said of stints where it was not noted

	sql        string // the level, over the aliases of the question's tables
	byPosition bool   // belongs to a position of the rig, not to the whole stint
	ofTag      bool   // only droppers on a tag have it
	ofDropper  bool   // only droppers have it
	tables     []string
}

// tagLength is the factor whose value may change within a stint.
const tagLength = "tag-length"

// Factors lists every factor a question can ask by.
func Factors() []Factor {
	tag := func(key, title, missing, sql string) Factor {
		return Factor{Key: key, Title: title, Missing: missing, sql: sql, byPosition: true, ofTag: true, tables: []string{"rp"}}
	}
	fly := func(key, title, missing, sql string, q Quantity) Factor {
		return Factor{Key: key, Title: title, Missing: missing, sql: sql, Quantity: q, byPosition: true, tables: []string{"rp"}}
	}
	whole := func(key, title, missing, sql string, q Quantity, tables ...string) Factor {
		return Factor{Key: key, Title: title, Missing: missing, sql: sql, Quantity: q, tables: tables}
	}
	length := tag(tagLength, "Tag length", "droppers with no tag length noted", "coalesce(c.tag_mm, rp.tag_length_mm)")
	length.Quantity = Length
	hang := fly("hang", "Hang", "droppers with no hang noted", "nullif(rp.hang, '')", Words)
	hang.ofDropper = true
	return []Factor{
		hang,
		tag("junction", "Junction", "droppers with no junction noted", "CASE rp.junction WHEN 'other' THEN rp.junction_name ELSE nullif(rp.junction, '') END"),
		length,
		tag("facing", "Facing", "droppers with no facing noted", "nullif(rp.facing, '')"),
		tag("prop", "Prop", "droppers with no prop noted", "nullif(rp.prop, '')"),
		whole("swivel", "Swivel", "stints with no swivel noted", "nullif(r.swivel, '')", Words, "r"),
		fly("tippet", "Tippet", "flies with no tippet noted", "rp.tippet_mm", Diameter),
		fly("material", "Material", "flies with no material noted", "nullif(rp.material, '')", Words),
		fly("bulk", "Bulk", "flies with no bulk noted", "nullif(rp.bulk, '')", Words),
		fly("hook-size", "Hook size", "flies with no hook size noted", "rp.hook_size::float8", Number),
		whole("stroke", "Stroke", "stints with no stroke noted", "nullif(st.stroke, '')", Words, "st"),
		whole("method", "Method", "stints with no method noted", "nullif(r.method, '')", Words, "r"),
		whole("angler", "Angler", "", "a.name", Words, "se", "a"),
		whole("water", "Water", "", "w.name", Words, "se", "w"),
		whole("beat", "Beat", "stints with no beat noted", "w.name || ', ' || b.name", Words, "se", "w", "b"),
		whole("flow", "Flow", "stints with no flow noted", "se.flow_m3s", Flow, "se"),
		whole("temperature", "Water temperature", "stints with no water temperature noted", "se.water_temp_c", Temperature, "se"),
		whole("month", "Month", "", "extract(month FROM se.day)::float8", Number, "se"),
		whole("season", "Season", "", "extract(year FROM se.day)::float8", Number, "se"),
		whole("rig", "Rig", "", "CASE WHEN r.revision > 1 THEN r.name || ' (revision ' || r.revision || ')' ELSE r.name END", Words, "r"),
	}
}

// FactorByKey finds a factor; its error lists those there are.
func FactorByKey(key string) (Factor, error) {
	var keys []string
	for _, f := range Factors() {
		if f.Key == key {
			return f, nil
		}
		keys = append(keys, f.Key)
	}
	return Factor{}, &Invalid{Problems: []string{fmt.Sprintf("factor %q is not known; ask by one of: %s", key, strings.Join(keys, ", "))}}
}

// Vocabulary returns the words that a factor's level may be, in their natural
// order, or nil when the journal itself names them.
func (f Factor) Vocabulary() []string {
	switch f.Key {
	case "hang":
		return words(Hangs())
	case "junction":
		return words(Junctions()[:len(Junctions())-1])
	case "facing":
		return words(Facings())
	case "prop":
		return words(Props())
	case "swivel":
		return words(Swivels())
	case "material":
		return words(Materials())
	case "bulk":
		return words(Bulks())
	case "stroke":
		return words(Strokes())
	case "method":
		return words(Methods())
	}
	return nil
}

func words[T ~string](list []T) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}

// joins returns the tables that a question's factors need, each after those it
// refers to, from c, the row of counts, or from se, the sessions.
func joins(base string, factors []Factor) string {
	need := map[string]bool{}
	for _, f := range factors {
		for _, t := range f.tables {
			need[t] = true
		}
	}
	need[base] = false
	var sql strings.Builder
	for _, j := range []struct{ alias, join string }{
		{"rp", "JOIN rig_position rp ON rp.outfit_id = c.outfit_id AND rp.rig_id = c.rig_id AND rp.position = c.position"},
		{"r", "JOIN rig r ON r.outfit_id = c.outfit_id AND r.id = c.rig_id"},
		{"st", "JOIN stint st ON st.outfit_id = c.outfit_id AND st.id = c.stint_id"},
		{"se", "JOIN session se ON se.outfit_id = c.outfit_id AND se.id = c.session_id"},
		{"a", "JOIN angler a ON a.outfit_id = c.outfit_id AND a.id = se.angler_id"},
		{"w", "JOIN water w ON w.outfit_id = c.outfit_id AND w.id = se.water_id"},
		{"b", "LEFT JOIN beat b ON b.outfit_id = c.outfit_id AND b.id = se.beat_id"},
	} {
		if need[j.alias] {
			sql.WriteString("\n\t" + strings.ReplaceAll(j.join, "c.outfit_id", base+".outfit_id"))
		}
	}
	return sql.String()
}
