package main

import (
	"context"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// adoptUnits makes an empty journal show the units of the first spreadsheet that
// goes into it: those asked for with --units, else those of most of its headers.
// empty was asked before the import.
func (p *program) adoptUnits(ctx context.Context, store *pg.Store, sheet *exchange.Sheet, empty bool) error {
	sys := p.settings.Units
	if sys == "" {
		sys = sheet.Units()
	}
	if !empty || sys == "" || sheet.Rows == sheet.BadRows() {
		return nil
	}
	outfit, err := store.Outfit(ctx)
	if err != nil || outfit.Units == string(sys) {
		return err
	}
	outfit.Units = string(sys)
	if err := store.SetOutfit(ctx, outfit); err != nil {
		return err
	}
	other := units.Metric
	if sys == units.Metric {
		other = units.US
	}
	p.printf("The journal shows %s units from now on, like this file; --units %s shows the others.\n\n", unitsTitle(sys), other)
	return nil
}

func unitsTitle(sys units.System) string {
	if sys == units.US {
		return "US"
	}
	return "metric"
}
