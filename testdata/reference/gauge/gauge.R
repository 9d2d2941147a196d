# What R makes of an invented season on an invented gauge: what each session takes of it, and
# comparisons by and given what it took. Run it here: Rscript gauge.R
# It invents readings.csv, daily.csv, sessions.csv and stints.csv where they are missing, and
# writes expected.json from them. Needs R with sandwich (Debian: r-base-core r-cran-sandwich).
# Flows are in ft³/s, temperatures in °C; expected flows in m³/s. Times are Denver's.

suppressPackageStartupMessages({ library(splines); library(sandwich) })
zone <- "America/Denver"
midnight <- function(day) as.POSIXct(paste(day, "00:00"), tz = zone)
utc <- function(t) format(as.POSIXct(t, origin = "1970-01-01", tz = "UTC"), "%Y-%m-%dT%H:%M:%SZ")

invent <- function() {
  set.seed(20261129)
  days <- as.Date("2026-03-08") + round(seq(0, 238, length.out = 48)) # the first has 23 hours, the last 25
  usual <- function(day) { n <- as.numeric(format(day, "%j")); 300 + 1500 * exp(-((n - 150) / 35)^2) }
  daily <- do.call(rbind, lapply(2012:2026, function(year) {
    level <- rnorm(1, 0, 0.3)
    on <- as.Date(paste0(year, format(days, "-%m-%d")))
    data.frame(day = on, cfs = signif(usual(days) * exp(level + rnorm(length(days), 0, 0.3)), 2))
  }))
  write.csv(daily, "daily.csv", row.names = FALSE, quote = FALSE)
  lines <- "quantity,from,values"
  sessions <- stints <- NULL
  for (i in seq_along(days)) {
    from <- as.numeric(midnight(days[i])); to <- as.numeric(midnight(days[i] + 1))
    at <- seq(from - 86400, to - 900, by = 900)
    slope <- rnorm(1, 0.03, 0.14); level <- rnorm(1, 0, 0.55)
    flow <- signif(usual(days[i]) * exp(level + slope * (at - from - 43200) / 21600 + 0.02 * sin((at - from) / 13751)), 3)
    flow[runif(length(at)) < 0.02] <- NA
    start <- from + 3600 * (8 + 0.25 * rpois(1, 6)); end <- start + 900 * sample(12:26, 1)
    middle <- (start + end) / 2
    if (i %in% c(7, 19)) flow[abs(at - middle) < 6000] <- NA    # nothing within 90 minutes
    if (i %in% c(11, 30)) flow[at > middle - 2000] <- NA        # the last reading stands
    if (i == 23) flow[abs(at - middle + 86400) < 8000] <- NA    # nothing a day before
    lines <- c(lines, paste("flow", utc(at[1]), paste(ifelse(is.na(flow), "-", format(flow, trim = TRUE, scientific = FALSE, drop0trailing = TRUE)), collapse = " "), sep = ","))
    at <- seq(from, to - 900, by = 900)
    n <- as.numeric(format(days[i], "%j"))
    water <- round(4 + 12 * exp(-((n - 205) / 60)^2) + rnorm(1) + 2.5 * sin((at - from - 36000) / 13751), 1)
    if (i == 5) water[at > from + 50000] <- NA                  # the peak of a morning is not the day's
    lines <- c(lines, paste("temperature", utc(at[1]), paste(ifelse(is.na(water), "-", format(water, trim = TRUE, drop0trailing = TRUE)), collapse = " "), sep = ","))
    timed <- !(i %in% c(14, 37))
    clock <- function(t) if (timed) format(as.POSIXct(t, tz = zone, origin = "1970-01-01"), "%Y-%m-%dT%H:%M", tz = zone) else ""
    angler <- sample(c("Ilse", "Jost", "Maud"), 1, prob = c(0.5, 0.3, 0.2))
    sessions <- rbind(sessions, data.frame(session = i, day = days[i], start = clock(start), end = clock(end), angler = angler))
    luck <- rgamma(1, 2.5, 2.5); skill <- c(Ilse = 1, Jost = 1.6, Maud = 0.7)[[angler]]
    for (k in 1:sample(2:4, 1)) {
      junction <- sample(c("blood", "figure-eight"), 1, prob = if (slope > 0.1) c(0.7, 0.3) else c(0.35, 0.65))
      minutes <- 5 * sample(8:26, 1)
      stints <- rbind(stints, data.frame(session = i, junction = junction, minutes = minutes,
        tangles = rpois(1, luck * skill * exp(2 * slope + (junction == "blood") * 0.3) * minutes / 60),
        hookups = rpois(1, 1.4 * luck * exp(-0.5 * level) * minutes / 60)))
    }
  }
  writeLines(lines, "readings.csv")
  write.csv(sessions, "sessions.csv", row.names = FALSE, quote = FALSE)
  write.csv(stints, "stints.csv", row.names = FALSE, quote = FALSE)
}
if (!file.exists("readings.csv")) invent()

# --- what a session takes --------------------------------------------------

read <- read.csv("readings.csv")
read$from <- as.numeric(as.POSIXct(read$from, format = "%Y-%m-%dT%H:%M:%SZ", tz = "UTC"))
series <- function(quantity) {
  one <- read[read$quantity == quantity, ]
  all <- do.call(rbind, Map(function(from, text) {
    v <- suppressWarnings(as.numeric(strsplit(text, " ")[[1]]))
    data.frame(at = from + 900 * (seq_along(v) - 1), value = v)
  }, one$from, one$values))
  all <- all[!is.na(all$value), ]
  all <- all[!duplicated(all$at, fromLast = TRUE), ]
  all[order(all$at), ]
}
flow <- series("flow"); flow$value <- flow$value * 0.028316846592
water <- series("temperature")

at <- function(s, t) {
  near <- s[abs(s$at - t) <= 5400, ]
  before <- near[near$at <= t, ]; after <- near[near$at >= t, ]
  if (nrow(near) == 0) return(c(NA, NA))
  if (nrow(after) == 0) return(unlist(before[nrow(before), ]))
  if (nrow(before) == 0) return(unlist(after[1, ]))
  both <- rbind(before[nrow(before), ], after[1, ])
  c(t, if (both$at[1] == both$at[2]) both$value[1] else approx(both$at, both$value, t)$y)
}
of_day <- function(s, day) {
  from <- as.numeric(midnight(day)); to <- as.numeric(midnight(day + 1))
  s <- s[s$at >= from & s$at < to, ]
  hour <- (s$at - from) %/% 3600
  if (3 * length(unique(hour)) < 2 * (to - from) / 3600) return(c(mean = NA, peak = NA))
  c(mean = mean(tapply(s$value, hour, mean)), peak = max(s$value))
}
daily <- read.csv("daily.csv")
percentile <- function(v, day) {
  year <- substr(daily$day, 1, 4)
  x <- daily$cfs[substr(daily$day, 6, 10) == format(day, "%m-%d") & year < format(day, "%Y")] * 0.028316846592
  n <- length(x)
  if (is.na(v)) return(NA)
  p <- if (any(x == v)) mean(rank(x)[x == v]) / (n + 1) else if (v < min(x)) 1 / (n + 1) else if (v > max(x)) n / (n + 1) else
    uniroot(function(p) quantile(x, p, type = 6) - v, c(1 / (n + 1), n / (n + 1)), tol = 1e-14)$root
  round(100 * p, 2)
}
sessions <- read.csv("sessions.csv")
fills <- do.call(rbind, lapply(seq_len(nrow(sessions)), function(i) {
  s <- sessions[i, ]; day <- as.Date(s$day)
  clock <- function(text) as.numeric(as.POSIXct(text, format = "%Y-%m-%dT%H:%M", tz = zone))
  warm <- of_day(water, day)
  if (s$start == "") {
    v <- signif(of_day(flow, day)[["mean"]], 4)
    return(data.frame(flow = v, percentile = percentile(v, day), change6 = NA, change24 = NA, water = signif(warm[["mean"]], 4), peak = warm[["peak"]]))
  }
  middle <- (clock(s$start) + clock(s$end)) / 2
  r <- at(flow, middle)
  digits <- function(s, r) if (is.na(r[[2]]) || any(s$at == r[[1]])) r[[2]] else signif(r[[2]], 4) # of what lies between two
  v <- digits(flow, r)
  change <- function(hours) if (is.na(r[1])) NA else r[[2]] / at(flow, r[[1]] - 3600 * hours)[[2]] - 1
  data.frame(flow = v, percentile = percentile(v, day), change6 = change(6), change24 = change(24), water = digits(water, at(water, middle)), peak = warm[["peak"]])
}))
trend <- function(change) ifelse(change >= 0.1, "rising", ifelse(change <= 1 / 1.1 - 1, "falling", "steady"))

# --- comparisons -----------------------------------------------------------

stints <- read.csv("stints.csv")
d <- cbind(stints, fills[stints$session, ])
d$angler <- sessions$angler[d$session]
d$hours <- d$minutes / 60
d$junction <- factor(d$junction, c("figure-eight", "blood"))
d$trend6 <- factor(trend(d$change6), c("steady", "falling", "rising"))
d$trend24 <- factor(trend(d$change24), c("steady", "falling", "rising"))
d$season <- relevel(cut(d$percentile, c(-Inf, 10, 25, 75, 90, Inf), right = FALSE, labels = c("0", "10", "25", "75", "90")), "25")

# Knots by the exposure's mid-distribution (Parzen 2004).
knots <- function(x, w) {
  s <- tapply(w, x, sum); at <- as.numeric(names(s))
  approx((cumsum(s) - s / 2) / sum(s), at, c(0.05, 0.35, 0.65, 0.95), rule = 2)$y
}
curve_of <- function(x, w) { k <- knots(x, w); ns(x, knots = k[2:3], Boundary.knots = k[c(1, 4)]) }

frailty <- function(x, y, t, g) {
  k <- ncol(x)
  sums <- function(v) drop(rowsum(v, g))
  loglik <- function(p) {
    c2 <- exp(p[k + 1]); mu <- t * exp(drop(x %*% p[1:k])); K <- sums(y); M <- sums(mu)
    sum(y * log(mu)) + sum(lgamma(K + 1 / c2) - lgamma(1 / c2) + K * log(c2) - (K + 1 / c2) * log1p(c2 * M))
  }
  slope <- function(p) {
    c2 <- exp(p[k + 1]); mu <- t * exp(drop(x %*% p[1:k])); K <- sums(y); M <- sums(mu); w <- ((1 + c2 * K) / (1 + c2 * M))[as.character(g)]
    own <- sum(-(digamma(K + 1 / c2) - digamma(1 / c2)) / c2 + K + log1p(c2 * M) / c2 - (K + 1 / c2) * c2 * M / (1 + c2 * M))
    c(drop(crossprod(x, y - mu * w)), own)
  }
  p <- c(coef(glm.fit(x, y, family = poisson(), offset = log(t))), log(0.3))
  for (round in 1:3) p <- optim(p, function(p) -loglik(p), function(p) -slope(p), method = "BFGS", control = list(reltol = 1e-16, maxit = 1000))$par
  hessian <- function(p) sapply(seq_along(p), function(j) { h <- 1e-5 * (seq_along(p) == j); (slope(p + h) - slope(p - h)) / 2e-5 })
  for (round in 1:4) p <- p - solve(hessian(p), slope(p))
  list(coef = p[1:k], se = sqrt(diag(solve(-hessian(p))))[1:k], c2 = exp(p[k + 1]))
}

compare <- function(id, outcome, by, given, names, formula, needs) {
  e <- d[complete.cases(d[needs]), ]
  f <- as.formula(paste(outcome, "~", formula, "+ offset(log(hours))"))
  environment(f) <- list2env(list(curve_of = curve_of, e = e), parent = globalenv())
  tight <- glm.control(epsilon = 1e-14, maxit = 100)
  fit <- glm(f, poisson, e, control = tight); fit <- glm(f, poisson, e, control = tight, start = coef(fit))
  j <- match(paste0(by, names), names(coef(fit)))
  stopifnot(!anyNA(j))
  shared <- frailty(model.matrix(fit), e[[outcome]], e$hours, e$session)
  list(id = id, outcome = outcome, given = given, names = names, rows = nrow(e), sessions = length(unique(e$session)),
       marginal = exp(coef(fit)[j]), marginal_se_log = sqrt(diag(vcovCL(fit, cluster = e$session, type = "HC1")))[j],
       frailty = exp(shared$coef[j]), frailty_se_log_by_information = shared$se[j], c2 = shared$c2)
}
cases <- list(
  compare("tangles by junction, water held alike", "tangles", "junction", c("trend-6h", "flow-percentile", "angler"), "blood",
          "junction + trend6 + curve_of(percentile, hours) + angler", c("trend6", "percentile")),
  compare("tangles by junction, a day's trend and warmth", "tangles", "junction", c("trend-24h", "temperature-peak:linear"), "blood",
          "junction + trend24 + peak", c("trend24", "peak")),
  compare("hookups by the flow for the time of year", "hookups", "season", c("angler"), c("0", "10", "75", "90"), "season + angler", "percentile"),
  compare("tangles by the trend", "tangles", "trend6", c("flow-percentile:linear", "angler"), c("falling", "rising"), "trend6 + percentile + angler", c("trend6", "percentile")))

# --- expected.json ---------------------------------------------------------

number <- function(v) ifelse(is.na(v), "null", format(v, digits = 15, trim = TRUE, scientific = FALSE))
each <- function(v) if (is.character(v)) paste0('"', v, '"') else sapply(v, number)
list_of <- function(v) paste0("[", paste(each(v), collapse = ", "), "]")
single <- c("id", "outcome", "rows", "sessions", "c2")
object <- function(x) paste0("{", paste(sapply(names(x), function(n) paste0('"', n, '": ', if (n %in% single) each(x[[n]]) else list_of(x[[n]]))), collapse = ", "), "}")
writeLines(c("{", paste0('"made_by": "', R.version.string, ", sandwich ", packageVersion("sandwich"), '",'),
             paste0('"fills": ', object(fills), ","), '"cases": [', paste(sapply(cases, object), collapse = ",\n"), "]}"), "expected.json")
