package exchange

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"rigtally/journal"
)

// plain gives lower case without accents: Gewässer → gewasser.
func plain(s string) string {
	ascii := true
	for i := 0; i < len(s) && ascii; i++ {
		ascii = s[i] < 0x80
	}
	if ascii {
		return strings.ToLower(s)
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == 'ß':
			b.WriteString("ss")
		case r == 'ø':
			b.WriteByte('o')
		case r == 'æ':
			b.WriteString("ae")
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// compact keeps the letters and digits of a word only: "Fig. 8" → fig8.
func compact(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, plain(s))
}

// dictionary finds a word of a vocabulary by any of its spellings.
func dictionary[T ~string](words []T, spellings map[T]string) map[string]T {
	d := make(map[string]T, 4*len(words))
	for _, w := range words {
		d[compact(string(w))] = w
		for s := range strings.SplitSeq(spellings[w], ",") {
			d[compact(s)] = w
		}
	}
	delete(d, "")
	return d
}

// setWord reads a word of a closed vocabulary; spellings hold, by word, others
// that mean it, separated by commas.
func setWord[T ~string](words []T, spellings map[T]string, at func(r *row) *T) func(*column, *row, string) error {
	d := dictionary(words, spellings)
	list := make([]string, len(words))
	for i, w := range words {
		list[i] = string(w)
	}
	return func(c *column, r *row, cell string) error {
		w, err := cached(c, cell, func() (T, error) {
			if w, ok := d[compact(cell)]; ok {
				return w, nil
			}
			return "", &problem{what: "is not a word for " + c.field.title, remedy: "write one of: " + strings.Join(list, ", ")}
		})
		*at(r) = w
		return err
	}
}

// setJunction reads a knot; one that is not known is kept under its own name.
func setJunction(c *column, r *row, cell string) error {
	type knot struct {
		junction journal.Junction
		name     string
	}
	k, err := cached(c, cell, func() (knot, error) {
		name := cleanText(cell)
		if own, ok := strings.CutPrefix(plain(name), otherPrefix); ok && strings.TrimSpace(own) != "" {
			name = strings.TrimSpace(name[len(otherPrefix):])
		} else if j, ok := c.junctions[compactKnot(name)]; ok {
			return knot{junction: j}, nil
		} else if compact(name) == string(journal.JunctionOther) {
			return knot{}, &problem{what: "does not say which", remedy: "write the junction's name itself"}
		}
		if len(name) > maxName {
			return knot{}, tooLong(maxName)
		}
		c.unknownWords[name]++
		return knot{journal.JunctionOther, name}, nil
	})
	r.fly.Junction, r.fly.JunctionName = k.junction, k.name
	return err
}

const otherPrefix = "other:"

func compactKnot(s string) string {
	s = compact(s)
	for _, end := range []string{"knots", "knot"} {
		if short := strings.TrimSuffix(s, end); short != "" {
			s = short
		}
	}
	return s
}

// junctionWords finds junctions by their many spellings. A plain surgeon's knot
// is a double one (common practice).
func junctionWords() map[string]journal.Junction {
	d := dictionary(journal.Junctions(), map[journal.Junction]string{
		"figure-eight":     "fig 8,fig eight,figure 8,figure of eight,figure of 8,f8,8,achter,double figure eight",
		"double surgeon's": "double surgeon,double surgeons,dbl surgeon,dbl surgeons,dbl surgeon's,surgeon,surgeons,surgeon's,dbl surg,2x surgeon,2x surgeons,chirurgenknoten,chirurgien",
		"triple surgeon's": "triple surgeon,triple surgeons,tpl surgeon,tpl surgeons,3x surgeon,3x surgeons,triple surg",
		"blood":            "blood dropper,barrel,blutknoten",
		"uni":              "uni on the standing line,uni on standing line,uni to line,uni dropper,sliding uni",
		"tippet ring":      "ring,tippet rings,rings,tippetring,micro ring",
		"perfection loop":  "perfection,loop,perfection loops",
	})
	delete(d, string(journal.JunctionOther))
	return d
}

var (
	clarityWords = map[journal.Clarity]string{
		"clear":    "gin clear,gin,crystal clear,very clear",
		"tinged":   "slightly coloured,slightly colored,slight colour,slight color,off colour,off color,tinge,stained,light stain,tea",
		"coloured": "colored,cloudy,murky,green,milky",
		"muddy":    "brown,dirty,blown out,mud",
	}
	windWords = map[journal.Wind]string{
		"calm": "none,no,no wind,still,0", "light": "breeze,light breeze,breezy", "moderate": "medium,some,windy", "strong": "high,gusty,gale,very windy",
	}
	lightWords = map[journal.Light]string{
		"bright": "sun,sunny,full sun,clear,clear sky", "mixed": "partly cloudy,part cloud,sun and cloud,broken cloud,broken",
		"overcast": "cloudy,cloud,grey,gray,dull", "low": "dusk,dawn,dark,evening,low light,twilight",
	}
	methodWords = map[journal.Method]string{
		"tight-line nymph": "tight line,tightline,nymph,nymphing,nymphs,euro,euro nymph,euro nymphing,tight line nymphing",
		"dry-dropper":      "dry dropper,dry and dropper,dry/dropper,new zealand,duo", "wet": "wet fly,wets,wet flies,swung,swing",
		"streamer": "streamers", "stillwater": "still water,lake,lakes,loch style",
	}
	strokeWords = map[journal.Stroke]string{
		"oval": "oval cast", "sidearm": "side arm,side,side cast", "overhead": "over head,overhand", "roll": "roll cast", "lob": "lobbed,lobbing,lob cast",
	}
	swivelWords   = map[journal.Swivel]string{"none": "no,nothing,direct,knot", "tippet ring": "ring", "micro swivel": "swivel,microswivel"}
	hangWords     = map[journal.Hang]string{"tag": "on a tag,dropper tag", "eye": "in line at the eye,hook eye", "bend": "in line at the bend,hook bend"}
	facingWords   = map[journal.Facing]string{"down": "downward,downwards,to the point,point", "up": "upward,upwards,to the rod,rod", "side": "sideways,out"}
	propWords     = map[journal.Prop]string{"none": "no,nothing", "half-hitch": "hitch,half hitch,hh", "overhand": "overhand knot"}
	materialWords = map[journal.Material]string{"nylon": "mono,monofilament,copolymer", "fluorocarbon": "fluoro,fluorocarb,fc"}
	bulkWords     = map[journal.Bulk]string{
		"slim": "thin,plain,sparse,slender,bare", "hackled": "soft hackle,soft hackled,softhackle,hackle,hackles,cdc",
		"legged": "rubber legs,rubber leg,rubberlegs,legs,leggy,big wings,winged,big wing",
	}
)
