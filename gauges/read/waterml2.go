package read

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// markup reads XML, and tells a web page from it.
func (b *book) markup(in *bufio.Reader, start []byte) error {
	head := bytes.ToLower(start)
	if bytes.Contains(head, []byte("<!doctype html")) || bytes.Contains(head, []byte("<html")) {
		return b.wrongf("", "is a web page, not readings; the service may have moved or failed, or the page was saved instead of what it links to")
	}
	x := &waterml2{book: b, dec: xml.NewDecoder(in)}
	x.dec.CharsetReader = b.charset
	if err := x.read(); err != nil {
		return x.fault(err)
	}
	return nil
}

// waterml2 reads OGC's WaterML 2.0 (10-126r4): collections of observations, each a time series.
type waterml2 struct {
	*book
	dec   *xml.Decoder
	path  []string // local names of the elements that are open
	known bool
	first *waterml1 // where it is WaterML 1

	unnamed    string // feature whose number nothing tells
	collection string // who a collection says that it is of
	name       string
	series     waterSeries
}

// waterSeries is one observation.
type waterSeries struct {
	site, name     string
	property, what string // observed: words and addresses together, and words alone
	latitude       *float64
	longitude      *float64
	offset         *int // minutes, of the place
	unit           string
	interpolation  string
	procedure      string // how it was made: mean, instantaneous
	feature        string // by what it is told from other places
	defaultFlags   gauge.Flags
	points         []waterPoint
	point          waterPoint
	id             string
}

type waterPoint struct {
	time, value string
	flags       gauge.Flags
	qualified   bool
}

func (x *waterml2) place() string {
	n, _ := x.dec.InputPos()
	return line(n)
}

func (x *waterml2) fault(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &syntax):
		if strings.Contains(syntax.Msg, "unexpected EOF") {
			return x.cut(line(syntax.Line))
		}
		return x.wrongf(line(syntax.Line), "it is not XML there (%s)", syntax.Msg)
	}
	return x.broken(err, x.place())
}

const deepest = 100 // elements in one another

func (x *waterml2) read() error {
	for {
		t, err := x.dec.RawToken()
		if errors.Is(err, io.EOF) && len(x.path) == 0 {
			if !x.known {
				return x.wrongf("", "is XML of a kind that is not known; known are WaterML 1.1 and 2.0")
			}
			return nil
		}
		if err != nil {
			if errors.Is(err, io.EOF) {
				return x.cut(x.place())
			}
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if len(x.path) >= deepest {
				return x.wrongf(x.place(), "its elements stand too deep in one another")
			}
			x.path = append(x.path, t.Name.Local)
			if err := x.start(t); err != nil {
				return err
			}
		case xml.EndElement:
			if len(x.path) == 0 || x.path[len(x.path)-1] != t.Name.Local {
				return x.wrongf(x.place(), "</%s> closes nothing there", clip(t.Name.Local))
			}
			x.path = x.path[:len(x.path)-1]
			if err := x.end(t.Name.Local); err != nil {
				return err
			}
		case xml.CharData:
			x.text(string(bytes.TrimSpace(t)))
		}
	}
}

func (x *waterml2) within(name string) bool {
	for _, p := range x.path {
		if p == name {
			return true
		}
	}
	return false
}

func attribute(t xml.StartElement, local string) string {
	for _, a := range t.Attr {
		if a.Name.Local == local {
			return a.Value
		}
	}
	return ""
}

// monitoringPoint is how the U.S. Geological Survey names the place of an observation.
var monitoringPoint = regexp.MustCompile(`^USGS\.MP\.[A-Z0-9-]+\.(\d{8,15})$`)

func (x *waterml2) start(t xml.StartElement) error {
	if x.first != nil {
		x.startFirst(t)
		return nil
	}
	s := &x.series
	said := strings.TrimSpace(attribute(t, "title") + " " + attribute(t, "href"))
	if x.within("procedure") {
		s.procedure += " " + attribute(t, "title")
	}
	switch t.Name.Local {
	case "timeSeriesResponse", "timeSeriesResponseType", "timeSeriesResponseElement":
		x.known, x.first = true, &waterml1{codes: newCodes()}
	case "ExceptionReport", "ServiceException", "ServiceExceptionReport":
		return x.wrongf("", "holds no readings but the failure of a service")
	case "Collection":
		x.known, x.collection, x.name = true, "", ""
	case "OM_Observation":
		x.known = true
		x.series = waterSeries{}
	case "MonitoringPoint":
		if m := monitoringPoint.FindStringSubmatch(attribute(t, "id")); m != nil {
			s.site = m[1]
		}
	case "descriptionReference", "featureOfInterest":
		if s.name == "" {
			s.name = attribute(t, "title")
		}
		if t.Name.Local == "featureOfInterest" {
			if s.feature = s.name; s.name == "" && !strings.HasPrefix(said, "#") {
				s.feature = said
			}
		}
	case "observedProperty":
		s.property, s.what = said, attribute(t, "title")
		if s.what == "" {
			s.what = said
		}
	case "MeasurementTimeseries", "Timeseries":
		x.known = true
		s.id = attribute(t, "id")
	case "uom":
		if s.unit = attribute(t, "code"); s.unit == "" {
			s.unit = attribute(t, "title")
		}
		if _, ok := unitOf(s.unit); !ok {
			s.unit = cmp.Or(unitAtEnd(attribute(t, "href")), s.unit)
		}
	case "interpolationType":
		if s.interpolation = attribute(t, "href"); s.interpolation == "" {
			s.interpolation = attribute(t, "title")
		}
	case "MeasurementTVP":
		s.point = waterPoint{}
	case "value":
		if attribute(t, "nil") == "true" && x.within("MeasurementTVP") {
			s.point.flags |= s.reason(attribute(t, "nilReason"))
		}
		if u := attribute(t, "uom"); u != "" && s.unit == "" {
			s.unit = u
		}
	case "qualifier", "quality", "censoredReason", "nilReason", "status", "processing":
		x.qualified(t.Name.Local, said)
	}
	return nil
}

// unitAtEnd is the unit that an address of one ends with: http://www.opengis.net/def/uom/UCUM/0/m3/s.
func unitAtEnd(address string) string {
	_, unit, ok := strings.Cut(address, "/0/")
	if !ok {
		_, unit, _ = strings.Cut(address, "#")
	}
	if _, ok = unitOf(unit); !ok {
		return ""
	}
	return unit
}

func (waterSeries) reason(text string) gauge.Flags {
	f, _ := meaning(text)
	return f & noValue
}

// qualified takes what is said of a point, or of all that say nothing themselves.
func (x *waterml2) qualified(kind, said string) {
	if said == "" {
		return
	}
	f, ok := meaning(said)
	if kind == "censoredReason" {
		f, ok = f|gauge.Censored, true
	}
	if !ok {
		x.unexplained(clip(said))
	}
	switch {
	case x.within("MeasurementTVP"):
		x.series.point.flags |= f
		x.series.point.qualified = x.series.point.qualified || kind != "censoredReason" && kind != "nilReason"
	case x.within("defaultPointMetadata"):
		x.series.defaultFlags |= f
	}
}

func (x *waterml2) text(text string) {
	if text == "" || len(x.path) == 0 {
		return
	}
	if x.first != nil {
		x.textFirst(text)
		return
	}
	s := &x.series
	parent := ""
	if len(x.path) > 1 {
		parent = x.path[len(x.path)-2]
	}
	switch x.path[len(x.path)-1] {
	case "time":
		if parent == "MeasurementTVP" {
			s.point.time += text
		}
	case "value":
		if parent == "MeasurementTVP" {
			s.point.value += text
		}
	case "comment":
		if x.within("MeasurementTVP") {
			f, _ := meaning(text)
			s.point.flags |= f & noValue
		}
	case "qualifier":
		x.qualified("qualifier", text)
	case "nilReason", "censoredReason":
		x.qualified(x.path[len(x.path)-1], text)
	case "identifier":
		if parent == "Collection" {
			x.collection += text
		}
	case "name":
		if parent == "Collection" {
			x.name += text
		}
		if x.within("featureOfInterest") {
			s.name = cmp.Or(s.name, text)
			s.feature = s.name
		}
	case "pos":
		var lat, lon float64
		if n, _ := fmt.Sscan(text, &lat, &lon); n == 2 {
			s.latitude, s.longitude = &lat, &lon
		}
	case "zoneOffset":
		if minutes, ok := offsetOf([]byte(text)); ok {
			s.offset = &minutes
		}
	}
}

func (x *waterml2) end(name string) error {
	if x.first != nil {
		return x.endFirst(name)
	}
	s := &x.series
	switch name {
	case "MeasurementTVP":
		if len(s.points) >= x.most {
			return x.wrongf("", "holds more than %s readings; cut it into parts, by years", thousands(x.most))
		}
		if !s.point.qualified {
			s.point.flags |= s.defaultFlags
		}
		s.points = append(s.points, s.point)
	case "OM_Observation":
		err := x.observation()
		x.series = waterSeries{}
		return err
	}
	return nil
}

// observed words tell what an observation is of, where no number of the U.S. Geological Survey does.
func (s waterSeries) quantity() (gauge.Quantity, string) {
	property := strings.ToLower(s.property)
	for code, p := range parameters {
		if strings.Contains(property, "="+code) || strings.HasSuffix(property, "/"+code) || strings.Contains(s.id, "_"+code) {
			return p.quantity, p.unit
		}
	}
	if strings.Contains(property, "pm_search=") {
		return "", "" // another parameter of theirs
	}
	switch {
	case property == "q", strings.Contains(property, "discharge"), strings.Contains(property, "streamflow"), strings.Contains(property, "flow"):
		return gauge.Flow, ""
	case strings.Contains(property, "temperature") && strings.Contains(property, "water"):
		return gauge.Temperature, ""
	case strings.Contains(property, "stage"), strings.Contains(property, "gage height"), strings.Contains(property, "waterlevel"), strings.Contains(property, "water level"), strings.Contains(property, "river level"):
		return gauge.Stage, ""
	}
	return "", ""
}

// statistic says whether values are means, and by what name they are something else that isn't taken: the highest, a sum. What the
// procedure says comes before how values are to be drawn, which one agency wrote without regard to what they are.
func (s waterSeries) statistic() (mean bool, other string) {
	for _, word := range strings.FieldsFunc(strings.ToLower(s.procedure), notLetter) {
		switch word {
		case "mean", "average":
			return true, ""
		case "instantaneous":
			return false, ""
		case "maximum", "max", "minimum", "min", "median", "sum", "total":
			return false, word
		}
	}
	how := strings.ToLower(s.interpolation)
	if strings.Contains(how, "total") || strings.Contains(how, "max") || strings.Contains(how, "min") && !strings.Contains(how, "minute") {
		return false, tail(strings.TrimSpace(s.interpolation))
	}
	return strings.Contains(how, "average"), ""
}

func (x *waterml2) observation() error {
	s := x.series
	q, unit := s.quantity()
	if q == "" {
		if x.opt.Quantity == "" || s.property != "" {
			x.leave(clip120(s.what))
			return nil
		}
		q = x.opt.Quantity
	}
	if s.unit == "" {
		if s.unit = unit; unit == "" {
			s.unit = x.opt.Unit
		}
	}
	if _, other := s.statistic(); other != "" {
		x.leave(clip120(s.what + " (" + other + ")"))
		return nil
	}
	if len(s.points) == 0 {
		return nil
	}
	provider, number := "", s.site
	if number == "" {
		if of, n, ok := strings.Cut(x.collection, "."); ok && of == "USGS" {
			number = n
		}
	}
	switch {
	case number != "":
		provider = gauge.USGS
	case x.unnamed != "" && s.feature != "" && x.unnamed != s.feature:
		return x.wrongf(x.place(), "the readings there are of %q, and those before of %q; cut the file into one for each", clip(s.feature), clip(x.unnamed))
	default:
		x.unnamed = s.feature
	}
	site, err := x.site(provider, number)
	if err != nil {
		return err
	}
	u, err := x.unitFor(q, s.unit, x.place())
	if err != nil {
		return err
	}
	name := s.name
	if name == "" {
		name = x.name
	}
	x.gauge(gauge.Gauge{Site: site, Name: name, Latitude: s.latitude, Longitude: s.longitude})
	return x.take(site, q, u)
}

// take puts the points into a series. Those that are means of a day belong to a calendar day; other means are short enough
// to stand for their moment.
func (x *waterml2) take(site gauge.Site, q gauge.Quantity, u unit) error {
	s := x.series
	walls := make([]wall, len(s.points))
	for i, p := range s.points {
		w, ok := parseWall([]byte(p.time))
		if !ok {
			return x.wrongf(x.place(), "%q is no time as 2012-01-01T12:00:00-06:00", clip(p.time))
		}
		walls[i] = w
	}
	how := strings.ToLower(s.interpolation)
	mean, _ := s.statistic()
	daily := mean && daysApart(walls)
	statistic := gauge.Instant
	if daily {
		statistic = gauge.DailyMean
	}
	series := x.of(site, q, s.id, statistic)
	for i, p := range s.points {
		w := walls[i]
		var at time.Time
		switch {
		case daily:
			if at = w.day(); !w.dayOnly && w.seconds%86400 == 0 && strings.Contains(how, "prec") {
				at = at.AddDate(0, 0, -1) // the mean of the day that ended then
			}
		case w.dayOnly:
			return x.wrongf(x.place(), "%s has no time of day", clip(p.time))
		case w.known:
			at = w.utc()
		case s.offset != nil:
			w.offset = *s.offset
			at = w.utc()
		default:
			var err error
			if at, err = x.local(w, x.place()); err != nil {
				return err
			}
		}
		if none, ok := number([]byte(p.value)); ok && slices.Contains(noneValues, none) {
			p.value = ""
		}
		v, f, err := x.reading(p.value, p.flags, u, nil, x.usgs, x.place())
		if err != nil {
			return err
		}
		if err := x.add(series, at, v, f, func() string { return site.String() + ", " + p.time }); err != nil {
			return err
		}
	}
	return nil
}

// daysApart reports whether most of some times are a day or more from the one before.
func daysApart(walls []wall) bool {
	if len(walls) == 1 {
		return walls[0].dayOnly || walls[0].seconds%43200 == 0
	}
	far := 0
	for i := 1; i < len(walls); i++ {
		if apart := walls[i].seconds - walls[i-1].seconds; apart >= 20*3600 || apart <= -20*3600 {
			far++
		}
	}
	return 2*far > len(walls)-1
}
