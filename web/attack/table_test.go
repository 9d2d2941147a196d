package attack_test

import (
	"maps"
	"strings"
)

// attacks are all addresses. A new one stands here with how it is attacked, or the suite fails.
var attacks = table()

// reads are asked with every kind of id in the address, and with those of others behind it.
const reads = `
/account /anglers/{id}/data.zip /compare /data.zip /shared/{secret} /shares /join/{secret} /sign-in /after /anglers /anglers/new /anglers/{id} /api/known /api/v1/bench /api/v1/bench-water /api/v1/bench-water.csv /api/v1/bench.csv
/api/v1/claims /api/v1/claims.csv /api/v1/curve /api/v1/curve.csv /api/v1/known /api/v1/life /api/v1/life.csv /api/v1/next /api/v1/next.csv
/api/v1/openapi.yaml /api/v1/plan /api/v1/plan.csv /api/v1/rates /api/v1/rates.csv /api/v1/season /api/v1/sessions/{id} /api/v1/trials /api/v1/trials/{id} /bench
/bench.csv /bench.json /bench/pulls /bench/pulls.csv /bench/pulls/new /bench/pulls/{id} /bench/water /bench/water.csv /bench/water.json
/claims /claims.csv /claims.json /claims/new /claims/{id} /clients /curve /curve.csv /curve.json /expired /findings /findings.csv /findings.json
/icon-192.png /icon-512.png /import /import/{id} /import/{id}/rejects.csv /junction /life /life.csv /life.json /live /log /manifest.webmanifest /names /names/anglers/{id} /names/beats/{id} /names/knots/{id} /names/rigs/{id} /names/waters/{id} /next /next.csv /next.json /offline
/people /people/invite /people/{id} /people/{id}/remove /planner /planner.csv /planner.json /recorded /recorded/mark /rigs /rigs/new /rigs/rules /rigs/rules/new /rigs/rules/set/{id} /rigs/{id}
/rigs/{id}/copy /rigs/{id}/edit /season /season.html /season.json /sessions /sessions/deleted /sessions/{id} /sessions/{id}/edit /settings
/start /steps /steps/{id} /sw.js /tag-length /trials /trials.json /trials/new /trials/{id} /trials/{id}/answer.csv /trials/{id}/answer.json
/trials/{id}/units/{number} /waiting /waters /waters/new /waters/{id} /waters/{id}/gauges /waters/{id}/gauges/file /waters/{id}/gauges/fill /waters/{id}/gauges/find /gauge-files/{id} /{$}
`

func table() map[string]attack {
	all := map[string]attack{}
	for path := range strings.FieldsSeq(reads) {
		all["GET "+path] = attack{}
	}
	maps.Copy(all, writes)
	return all
}

// writes are sent with ids of others in the address and in what is sent, as their owner would send it.
var writes = map[string]attack{
	"POST /account/devices/sign-out-others":  {},
	"POST /account/devices/{id}/sign-out":    {id: "device"},
	"POST /account/passkeys":                 {sent: form("name", "Taken"), json: true},
	"POST /account/passkeys/begin":           {json: true, adds: true},
	"POST /account/passkeys/{id}/name":       {id: "device", sent: form("name", "Taken")},
	"POST /account/passkeys/{id}/remove":     {id: "device"},
	"POST /account/passphrase":               {sent: form("passphrase", "short")},
	"POST /join/{secret}":                    {id: "invitation", sent: form("account", "taken", "passphrase", "gravel kettle borrowed moonlight")},
	"POST /join/{secret}/known":              {id: "invitation"},
	"POST /join/{secret}/passkey":            {id: "invitation", json: true},
	"POST /join/{secret}/passkey/begin":      {id: "invitation", json: true},
	"POST /sign-in":                          {sent: form("account", "taken", "passphrase", "gravel kettle borrowed moonlight"), adds: true},
	"POST /sign-in/passkey":                  {json: true},
	"POST /sign-in/passkey/begin":            {json: true, adds: true},
	"POST /sign-out":                         {},
	"POST /switch/{outfit}":                  {id: "session"},
	"POST /anglers/{id}":                     {id: "angler", sent: form("name", "Taken", "kind", "client", "active", "yes", "do", "save"), adds: true},
	"POST /bench/pulls":                      {sent: form("id", "018f0000-0000-7000-8000-000000000001", "junction", "blood", "tippet", "6X", "day", "2026-03-14", "scale", "lbf", "force", "4", "ended", "broke")},
	"POST /bench/pulls/{id}":                 {id: "pull", sent: form("version", "1", "junction", "blood", "tippet", "6X", "day", "2026-03-14", "scale", "lbf", "force", "4", "ended", "broke"), adds: true},
	"POST /bench/pulls/{id}/delete":          {id: "pull"},
	"POST /bench/pulls/{id}/restore":         {id: "pull"},
	"POST /claims/{id}":                      {id: "claim", sent: form("version", "1", "words", "Taken", "outcome", "tangles", "factor", "junction", "direction", "more", "level", "blood", "versus", "uni", "do", "save"), adds: true},
	"POST /claims/{id}/restore":              {id: "claim"},
	"POST /claims/{id}/retire":               {id: "claim"},
	"POST /import":                           {adds: true},
	"POST /import/{id}":                      {id: "upload", sent: form("do", "write")},
	"POST /log":                              {id: "session", sent: sessionForm, adds: true},
	"POST /names/anglers/{id}":               {id: "angler", sent: form("do", "rename", "name", "Taken")},
	"POST /names/beats/{id}":                 {id: "beat", sent: form("do", "rename", "name", "Taken")},
	"POST /names/knots/{id}":                 {id: "rig", sent: form("do", "rename", "name", "Taken")},
	"POST /names/rigs/{id}":                  {id: "rig", sent: form("do", "rename", "name", "Taken")},
	"POST /names/waters/{id}":                {id: "water", sent: form("do", "rename", "name", "Taken")},
	"POST /people/invite":                    {sent: form("name", "Taken", "role", "owner"), adds: true},
	"POST /people/invitations/{id}/withdraw": {id: "invitation"},
	"POST /people/{id}":                      {id: "member", sent: form("name", "Taken", "role", "guide")},
	"POST /people/{id}/back":                 {id: "member"},
	"POST /people/{id}/remove":               {id: "member", sent: form("how", "delete")},
	"POST /people/{id}/sign-out":             {id: "member"},
	"POST /recorded/mark":                    {sent: form("from", "2026-05-01", "to", "2026-05-31", "kind", "tangles", "as", "counted", "do", "mark"), adds: true},
	"POST /rigs/draw":                        {id: "rig", sent: rigForm},
	"POST /rigs/new":                         {id: "rig", sent: rigForm, adds: true},
	"POST /rigs/rules/set/{id}":              {id: "rules", sent: form("name", "Taken", "flies", "2", "do", "save"), adds: true},
	"POST /rigs/rules/set/{id}/delete":       {id: "rules"},
	"POST /rigs/rules/set/{id}/restore":      {id: "rules"},
	"POST /rigs/{id}/delete":                 {id: "rig"},
	"POST /rigs/{id}/edit":                   {id: "rig", sent: rigForm},
	"POST /sessions/{id}/river":              {id: "session", sent: form("do", "clear")},
	"POST /sessions/{id}/count":              {id: "session", sent: form("version", "1", "do", "0 tangle +")},
	"POST /sessions/{id}/delete":             {id: "session"},
	"POST /sessions/{id}/edit":               {id: "session", sent: sessionForm},
	"POST /sessions/{id}/restore":            {id: "deleted"},
	"POST /settings":                         {sent: form("name", "Taken", "units", "us", "time-zone", "UTC", "zone", "UTC", "prior", "0.35"), adds: true},
	"POST /shares":                           {id: "angler", sent: form("season", "angler=Nobody", "days", "7")},
	"POST /shares/{id}/withdraw":             {id: "share"},
	"POST /start":                            {sent: form("name", "Taken", "units", "us", "angler", "Taken", "water", "Taken")},
	"POST /steps/{id}/back":                  {id: "step"},
	"POST /trials/new":                       {id: "trial", sent: trialForm, adds: true},
	"POST /trials/{id}/back":                 {id: "trial", sent: form("number", "1")},
	"POST /trials/{id}/delete":               {id: "trial"},
	"POST /trials/{id}/end":                  {id: "trial", sent: form("reason", "Taken")},
	"POST /trials/{id}/match":                {id: "trial"},
	"POST /trials/{id}/rename":               {id: "trial", sent: form("version", "1", "name", "Taken", "notes", "Taken")},
	"POST /trials/{id}/start":                {id: "trial", sent: form("number", "1")},
	"POST /trials/{id}/units/{number}":       {id: "trial", sent: attached},
	"POST /waters/{id}":                      {id: "water", sent: form("name", "Taken", "kind", "other", "time-zone", "UTC", "zone", "UTC", "do", "save"), adds: true},
	"POST /waters/{id}/gauges":               {id: "water", sent: form("do", "link", "provider", "taken", "number", "1")},
	"POST /waters/{id}/gauges/file":          {id: "water"},
	"POST /waters/{id}/gauges/fill":          {id: "water", sent: form("do", "clear")},
	"POST /waters/{id}/gauges/find":          {id: "water", sent: form("do", "number", "number", "1", "provider", "other", "who", "taken")},
	"POST /gauge-files/{id}":                 {id: "readings", sent: form("do", "keep")},
	"PUT /api/rigs/{id}":                     {id: "rig", sent: rig, json: true, adds: true},
	"PUT /api/v1/rigs/{id}":                  {id: "rig", sent: rig, json: true, adds: true},
	"PUT /api/sessions/{id}":                 {id: "session", sent: session, json: true, adds: true},
	"PUT /api/v1/sessions/{id}":              {id: "session", sent: session, json: true, adds: true},
}
