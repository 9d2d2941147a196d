# Times a plain, a corrected and a curve question on the rows of rows.csv, as most
# would write them and as an expert would, and prints figures and coefficients.
suppressMessages({library(sandwich); library(splines)})
args <- commandArgs(trailingOnly = TRUE)
rounds <- as.integer(args[2]); knots <- as.numeric(args[3:4]); ends <- as.numeric(args[5:6])
started <- proc.time()[["elapsed"]]
d <- read.csv(args[1], stringsAsFactors = TRUE)
cat("time read", proc.time()[["elapsed"]] - started, "\n")
d$junction <- relevel(d$junction, ref = "figure-eight")
timed <- function(what, f) { for (i in seq_len(rounds)) { gc(FALSE); s <- system.time(r <- f())[["elapsed"]]; cat("time", what, s, "\n") }; r }

plain <- function() rowsum(cbind(d$tangles, d$hours), d$junction)
timed("plain", plain)

corrected <- tangles ~ junction + tag_mm + bulk + angler + offset(log(hours))
bent <- tangles ~ ns(tag_mm, knots = knots, Boundary.knots = ends) + bulk + angler + offset(log(hours))
written <- function(formula) function() {
  m <- glm(formula, poisson, d, epsilon = 1e-14)
  list(b = coef(m), se = sqrt(diag(vcovCL(m, cluster = d$session, type = "HC1"))))
}
# An expert sums to cells first, fits those, and adds the rows' scores up by session.
cells <- function(formula) function() {
  key <- interaction(d$junction, d$tag_mm, d$bulk, d$angler, drop = TRUE)
  code <- as.integer(key)
  sums <- rowsum(cbind(d$tangles, d$hours), code, reorder = TRUE)
  of <- d[match(as.integer(rownames(sums)), code), c("junction", "tag_mm", "bulk", "angler")]
  of$tangles <- sums[, 1]; of$hours <- sums[, 2]
  m <- glm(formula, poisson, of, epsilon = 1e-14)
  X <- model.matrix(m); rate <- exp(as.vector(X %*% coef(m)))
  row <- match(code, as.integer(rownames(sums)))
  u <- rowsum(X[row, ] * (d$tangles - d$hours * rate[row]), as.integer(d$session), reorder = FALSE)
  bread <- chol2inv(chol(crossprod(X * sqrt(of$hours * rate))))
  n <- nrow(d); p <- ncol(X); g <- nrow(u)
  V <- bread %*% crossprod(u) %*% bread * g / (g - 1) * (n - 1) / (n - p)
  list(b = coef(m), se = sqrt(diag(V)))
}
say <- function(what, r) for (i in seq_along(r$b)) cat("coef", what, format(r$b[i], digits = 17), format(r$se[i], digits = 17), names(r$b)[i], "\n")
say("corrected", timed("corrected", written(corrected)))
timed("corrected-expert", cells(corrected))
say("curve", timed("curve", written(bent)))
timed("curve-expert", cells(bent))
