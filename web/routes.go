package web

import "net/http"

// action answers one request, or returns the error that the person is to see
// as a page. It must not write before it knows that it will succeed.
type action func(w http.ResponseWriter, r *http.Request) error

type route struct {
	pattern string
	act     action
}

// routes is the table of every page and every write.
func (s *Server) routes() []route {
	return []route{
		{"GET /{$}", s.todayPage},
		{"GET /icon-192.png", iconPNG(192)},
		{"GET /icon-512.png", iconPNG(512)},

		{"GET /log", s.logNew},
		{"POST /log", s.logSave},

		{"GET /live", s.shellPage},
		{"GET /after", s.shellPage},
		{"GET /waiting", s.shellPage},
		{"GET /offline", s.shellPage},
		{"GET /sw.js", s.serviceWorker},
		{"GET /manifest.webmanifest", s.manifest},
		{"GET /api/known", s.api(s.apiKnown)},
		{"PUT /api/sessions/{id}", s.api(s.apiSession)},

		{"GET /sessions", s.sessions},
		{"GET /sessions/deleted", s.sessionsDeleted},
		{"GET /sessions/{id}", s.session},
		{"GET /sessions/{id}/edit", s.sessionEdit},
		{"POST /sessions/{id}/edit", s.sessionSave},
		{"POST /sessions/{id}/delete", doing(s.store.DeleteSession, "/sessions?undo={id}")},
		{"POST /sessions/{id}/restore", doing(s.store.RestoreSession, "/sessions/{id}?done=restored")},

		{"GET /recorded", s.recorded},
		{"GET /recorded/mark", s.recordedMark},
		{"POST /recorded/mark", s.recordedMarkSave},

		{"GET /rigs", s.rigs},
		{"POST /rigs/draw", s.rigDraw},
		{"GET /rigs/new", s.rigNew},
		{"POST /rigs/new", s.rigCreate},
		{"GET /rigs/{id}", s.rig},
		{"GET /rigs/{id}/copy", s.rigCopy},
		{"GET /rigs/{id}/edit", s.rigEdit},
		{"POST /rigs/{id}/edit", s.rigSave},
		{"POST /rigs/{id}/delete", doing(s.store.DeleteRig, "/rigs?done=rig-deleted")},

		{"GET /rigs/rules", s.rules},
		{"GET /rigs/rules/new", s.rulesNew},
		{"GET /rigs/rules/set/{id}", s.rulesEdit},
		{"POST /rigs/rules/set/{id}", s.rulesSave},
		{"POST /rigs/rules/set/{id}/delete", doing(s.deleteRules, "/rigs/rules?undo={id}")},
		{"POST /rigs/rules/set/{id}/restore", doing(s.restoreRules, "/rigs/rules?done=rules-restored")},

		{"GET /findings", s.answers(s.findings)},
		{"GET /findings.json", s.answers(asJSON(s.desk, s.askFindings))},
		{"GET /findings.csv", s.answers(asCSV(s.desk, s.askFindings, findingsFile))},
		{"GET /tag-length", s.answers(s.tagLength)},
		{"GET /curve", s.answers(s.curve)},
		{"GET /curve.json", s.answers(asJSON(s.desk, s.askCurve))},
		{"GET /curve.csv", s.answers(asCSV(s.desk, s.askCurve, curveFile))},

		{"GET /planner", s.answers(s.planner)},
		{"GET /planner.json", s.answers(asJSON(s.desk, s.askPlan))},
		{"GET /planner.csv", s.answers(asCSV(s.desk, s.askPlan, plannerFile))},
		{"GET /life", s.answers(s.life)},
		{"GET /life.json", s.answers(asJSON(s.desk, s.askLife))},
		{"GET /life.csv", s.answers(asCSV(s.desk, s.askLife, lifeFile))},

		{"GET /claims", s.answers(s.claims)},
		{"GET /claims.csv", s.answers(asCSV(s.desk, s.askClaims, claimsFile))},
		{"GET /claims/new", s.claimNew},
		{"GET /claims/{id}", s.claim},
		{"POST /claims/{id}", s.claimSave},
		{"POST /claims/{id}/retire", doing(s.store.RetireClaim, "/claims?done=claim-retired")},
		{"POST /claims/{id}/restore", doing(s.store.RestoreClaim, "/claims?done=claim-restored")},

		{"GET /trials", s.answers(s.trials)},
		{"GET /trials.json", s.answers(asJSON(s.desk, s.askTrials))},
		{"GET /trials/new", s.trialNew},
		{"POST /trials/new", s.trialPlan},
		{"GET /trials/{id}", s.answers(s.trial)},
		{"GET /trials/{id}/answer.json", s.answers(asJSON(s.desk, s.askTrial))},
		{"GET /trials/{id}/answer.csv", s.answers(asCSV(s.desk, s.askTrial, trialFile))},
		{"POST /trials/{id}/start", s.trialStart},
		{"POST /trials/{id}/back", s.trialBack},
		{"POST /trials/{id}/match", s.trialMatch},
		{"POST /trials/{id}/rename", s.trialRename},
		{"POST /trials/{id}/end", s.trialEnd},
		{"POST /trials/{id}/delete", doing(s.store.DeleteTrial, "/trials?done=trial-deleted")},
		{"GET /trials/{id}/units/{number}", s.trialUnit},
		{"POST /trials/{id}/units/{number}", s.trialUnitSave},

		{"GET /season", s.answers(s.season)},
		{"GET /season.html", s.answers(s.seasonFile)},
		{"GET /season.json", s.answers(asJSON(s.desk, s.askSeason))},
		{"GET /season/figure/{file}", s.answers(s.seasonFigure)},

		{"GET /bench", s.answers(s.bench)},
		{"GET /bench.json", s.answers(asJSON(s.desk, s.askBench))},
		{"GET /bench.csv", s.answers(asCSV(s.desk, s.askBench, benchFile))},
		{"GET /bench/water", s.answers(s.benchWater)},
		{"GET /bench/water.json", s.answers(asJSON(s.desk, s.askBeside))},
		{"GET /bench/water.csv", s.answers(asCSV(s.desk, s.askBeside, besideFile))},
		{"GET /bench/pulls", s.benchPulls},
		{"POST /bench/pulls", s.benchPullAdd},
		{"GET /bench/pulls.csv", s.answers(s.benchPullsCSV)},
		{"GET /bench/pulls/new", s.benchPullNew},
		{"GET /bench/pulls/{id}", s.benchPull},
		{"POST /bench/pulls/{id}", s.benchPullSave},
		{"POST /bench/pulls/{id}/delete", doing(s.store.DeleteBenchPull, "/bench/pulls?undo={id}")},
		{"POST /bench/pulls/{id}/restore", doing(s.store.RestoreBenchPull, "/bench/pulls?done=pull-restored")},

		{"GET /anglers", s.anglers},
		{"GET /anglers/new", s.anglerNew},
		{"GET /anglers/{id}", s.angler},
		{"POST /anglers/{id}", s.anglerSave},

		{"GET /waters", s.waters},
		{"GET /waters/new", s.waterNew},
		{"GET /waters/{id}", s.water},
		{"POST /waters/{id}", s.waterSave},

		{"GET /settings", s.settings},
		{"POST /settings", s.settingsSave},
	}
}

// patterns are the addresses that the routes serve, each with its method.
func patterns(routes []route) map[string]bool {
	served := map[string]bool{}
	for _, r := range routes {
		served[r.pattern] = true
	}
	return served
}
