package grid

// odsStyle is a style of tables or cells, as far as it matters here.
type odsStyle struct {
	parent, data string
	hidden       bool // a table that is not displayed
}

func (o *ods) readStyles(s *scanner) error {
	return s.each(func(element string) error {
		if element == "styles" || element == "automatic-styles" {
			return o.readStylesWithin(s)
		}
		return nil
	})
}

// readStylesWithin reads the styles of the element whose start was read last.
func (o *ods) readStylesWithin(s *scanner) error {
	var style *odsStyle
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil {
			return err
		}
		if k == endElement && s.depth < depth {
			return nil
		}
		if k != startElement {
			continue
		}
		switch name := string(s.name); name {
		case "style":
			if len(o.styles) > maxStyles {
				return errXML
			}
			style = &odsStyle{parent: s.attr("parent-style-name"), data: s.attr("data-style-name")}
			o.styles[s.attr("family")+" "+s.attr("name")] = style
		case "table-properties":
			if style != nil && s.attr("display") == "false" {
				style.hidden = true
			}
		case "number-style", "currency-style", "percentage-style", "date-style", "time-style", "boolean-style", "text-style":
			if len(o.formats) > maxStyles {
				return errXML
			}
			id := s.attr("name")
			f, err := dataStyle(s, name)
			if err != nil {
				return err
			}
			o.formats[id] = f
		}
	}
}

// dataStyle reads what a data style makes of a number (OpenDocument 1.3, part 3, <number:number-style> and its like).
func dataStyle(s *scanner, kind string) (f format, err error) {
	f.percent = kind == "percentage-style"
	f.elapsed = kind == "time-style" && s.attr("truncate-on-overflow") == "false"
	var after []byte
	digits := false
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil {
			return f, err
		}
		if k == endElement && s.depth < depth {
			break
		}
		if k != startElement {
			continue
		}
		switch string(s.name) {
		case "year", "month", "day", "day-of-week", "era", "quarter", "week-of-year":
			f.date = true
		case "hours", "minutes", "am-pm":
			f.time = true
		case "seconds":
			f.time, f.seconds = true, true
		case "number", "scientific-number", "fraction":
			digits = true
			if err := s.passOver(); err != nil {
				return f, err
			}
		case "text":
			if after, err = s.content(after); err != nil {
				return f, err
			}
			if digits {
				f.unit += string(after)
			}
		case "map":
			if err := s.passOver(); err != nil {
				return f, err
			}
		}
	}
	if f.unit = unit(f.unit); kind != "number-style" {
		f.unit = ""
	}
	return f, nil
}

// format returns what a cell's style makes of a number, by the styles that it comes from.
func (o *ods) format(name string) format {
	for range 20 {
		style := o.styles["table-cell "+name]
		if style == nil {
			break
		}
		if style.data != "" {
			return o.formats[style.data]
		}
		name = style.parent
	}
	return general
}
