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
		{"POST /sessions/{id}/delete", s.sessionDelete},
		{"POST /sessions/{id}/restore", s.sessionRestore},

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
		{"POST /rigs/{id}/delete", s.rigDelete},

		{"GET /rigs/rules", s.rules},
		{"GET /rigs/rules/new", s.rulesNew},
		{"GET /rigs/rules/set/{id}", s.rulesEdit},
		{"POST /rigs/rules/set/{id}", s.rulesSave},
		{"POST /rigs/rules/set/{id}/delete", s.rulesDelete},
		{"POST /rigs/rules/set/{id}/restore", s.rulesRestore},

		{"GET /findings", s.findings},
		{"GET /findings.json", s.findingsJSON},
		{"GET /findings.csv", s.findingsCSV},
		{"GET /tag-length", s.tagLength},
		{"GET /curve", s.curve},
		{"GET /curve.json", s.curveJSON},
		{"GET /curve.csv", s.curveCSV},

		{"GET /planner", s.planner},
		{"GET /planner.json", s.plannerJSON},
		{"GET /planner.csv", s.plannerCSV},
		{"GET /life", s.life},
		{"GET /life.json", s.lifeJSON},
		{"GET /life.csv", s.lifeCSV},

		{"GET /claims", s.claims},
		{"GET /claims.csv", s.claimsCSV},
		{"GET /claims/new", s.claimNew},
		{"GET /claims/{id}", s.claim},
		{"POST /claims/{id}", s.claimSave},
		{"POST /claims/{id}/retire", s.claimRetire},
		{"POST /claims/{id}/restore", s.claimRestore},

		{"GET /trials", s.trials},
		{"GET /trials.json", s.trialsJSON},
		{"GET /trials/new", s.trialNew},
		{"POST /trials/new", s.trialPlan},
		{"GET /trials/{id}", s.trial},
		{"GET /trials/{id}/answer.json", s.trialJSON},
		{"GET /trials/{id}/answer.csv", s.trialCSV},
		{"POST /trials/{id}/start", s.trialStart},
		{"POST /trials/{id}/back", s.trialBack},
		{"POST /trials/{id}/match", s.trialMatch},
		{"POST /trials/{id}/rename", s.trialRename},
		{"POST /trials/{id}/end", s.trialEnd},
		{"POST /trials/{id}/delete", s.trialDelete},
		{"GET /trials/{id}/units/{number}", s.trialUnit},
		{"POST /trials/{id}/units/{number}", s.trialUnitSave},

		{"GET /season", s.season},
		{"GET /season.html", s.seasonFile},
		{"GET /season.json", s.seasonJSON},
		{"GET /season/figure/{file}", s.seasonFigure},

		{"GET /bench", s.bench},
		{"GET /bench.json", s.benchJSON},
		{"GET /bench.csv", s.benchCSV},
		{"GET /bench/water", s.benchWater},
		{"GET /bench/water.json", s.benchWaterJSON},
		{"GET /bench/water.csv", s.benchWaterCSV},
		{"GET /bench/pulls", s.benchPulls},
		{"POST /bench/pulls", s.benchPullAdd},
		{"GET /bench/pulls.csv", s.benchPullsCSV},
		{"GET /bench/pulls/new", s.benchPullNew},
		{"GET /bench/pulls/{id}", s.benchPull},
		{"POST /bench/pulls/{id}", s.benchPullSave},
		{"POST /bench/pulls/{id}/delete", s.benchPullDelete},
		{"POST /bench/pulls/{id}/restore", s.benchPullRestore},

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
