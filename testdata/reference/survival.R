# Recomputes survival.json and prints it. Run it here: Rscript survival.R > survival.json
# Needs R with survival and MASS, which come with it (Debian: r-base-core r-recommended).
suppressPackageStartupMessages({library(survival); library(MASS)})
num <- function(x) ifelse(is.na(x), "null", sprintf("%.15g", x))
arr <- function(x) paste0("[", paste(num(x), collapse = ", "), "]")
obj <- function(...) { l <- list(...); paste0("{", paste(sprintf('"%s": %s', names(l), unlist(l)), collapse = ", "), "}") }
one <- function(time, status, cluster) {
  f <- survfit(Surv(time, status) ~ 1, conf.type = "log-log")
  s <- summary(f)
  r <- summary(survfit(Surv(time, status) ~ 1, cluster = cluster, robust = TRUE))
  m <- quantile(f, 0.5)
  obj(time = arr(s$time), n_risk = arr(s$n.risk), n_event = arr(s$n.event), surv = arr(s$surv), se = arr(s$std.err),
      low = arr(s$lower), high = arr(s$upper), robust_se = arr(r$std.err), median = arr(c(m$quantile, m$lower, m$upper)))
}
case <- function(id, source, provenance, time, status, group, cluster) {
  t <- survdiff(Surv(time, status) ~ group)
  fit <- coxph(Surv(time, status) ~ factor(group), cluster = cluster, ties = "breslow")
  fits <- sapply(sort(unique(group)), function(g) one(time[group == g], status[group == g], cluster[group == g]))
  cat("    ", obj(id = dQuote(id, FALSE), source = dQuote(source, FALSE), provenance = dQuote(provenance, FALSE),
    r_call = dQuote("survfit(conf.type='log-log'), survfit(cluster=, robust=TRUE), survdiff, coxph(cluster=, ties='breslow')$rscore; survival.R", FALSE),
    data = obj(time = arr(time), status = arr(status), group = arr(group), cluster = arr(cluster)),
    expected = obj(groups = paste0("[", paste(fits, collapse = ", "), "]"), observed = arr(t$obs), mean = arr(t$exp), chisq = num(t$chisq),
      p = num(pchisq(t$chisq, length(t$n) - 1, lower.tail = FALSE)), robust_chisq = num(fit$rscore))), sep = "")
}
cat('{\n  "topic": "Kaplan-Meier with Greenwood and clustered standard errors, log-log limits, log-rank test, plain and clustered",\n  "cases": [\n')
made <- "the clusters are made up here, to try the clustered figures"
g <- gehan
case("freireich-6mp", "Freireich et al. (1963) Blood 21:699-716; Gehan (1965); MASS ?gehan; pairs of patients as the trial matched them",
  "data and the 6-MP table: R reference output of MASS ?gehan; chi-squared 16.79 and means 19.25 and 10.75 recalled from Kleinbaum & Klein; all recomputed with R 4.2.2, survival 3.5-3",
  g$time, g$cens, ifelse(g$treat == "6-MP", 0, 1), g$pair)
cat(",\n")
case("aml", "Miller (1981) Survival Analysis; R survival::aml", paste0("survfit as printed at rstudio-pubs-static.s3.amazonaws.com/610133 (read); recomputed with R 4.2.2; ", made),
  aml$time, aml$status, ifelse(aml$x == "Maintained", 0, 1), (seq_len(nrow(aml)) * 5) %% 8)
cat(",\n")
v <- veteran
case("veteran-celltype", "Kalbfleisch & Prentice (1980), Veterans' Administration lung cancer trial; R survival::veteran", paste0("R 4.2.2, survival 3.5-3; ", made),
  v$time, v$status, as.integer(v$celltype) - 1, (seq_len(nrow(v)) * 7) %% 29)
cat("\n  ]\n}\n")
