# What rigtally answers, by R: as most would write it, on the rows, and as an expert
# would, on sums over cells. Called with
#   rows.csv question reference rounds [knots boundary points]
# Prints lines of a kind, a name and values, with tabs between. What is timed starts
# with the rows in memory, their factors coded, and ends with the estimates.
suppressPackageStartupMessages({
  library(sandwich)
  library(splines)
})
options(warn = -1) # tallies of spells are shares of events, which poisson() warns of
fast <- requireNamespace("data.table", quietly = TRUE)

arguments <- commandArgs(trailingOnly = TRUE)
numbers <- function(i) as.numeric(strsplit(arguments[i], ",")[[1]])
question <- arguments[2]
rounds <- as.integer(arguments[4])
if (question == "curve") {
  knots <- numbers(5)
  boundary <- numbers(6)
  points <- numbers(7)
}

exact <- function(x) sprintf("%.17g", x)
say <- function(...) cat(paste(..., sep = "\t"), sep = "\n")
clock <- function(name, x) say("time", name, exact(system.time(x, gcFirst = FALSE)[["elapsed"]]))
timed <- function(name, f) {
  for (i in seq_len(rounds)) {
    gc(FALSE)
    clock(name, found <- f())
  }
  found
}

clock("read", d <- if (fast) {
  as.data.frame(data.table::fread(arguments[1], stringsAsFactors = TRUE))
} else {
  read.csv(arguments[1], stringsAsFactors = TRUE)
})
d$hours <- d$minutes / 60
d$junction <- relevel(d$junction, arguments[3])
say("rows", "rows", nrow(d))

terms <- switch(question,
  plain = "junction",
  corrected = "junction + tag_mm + bulk + angler",
  curve = "ns(tag_mm, knots = knots, Boundary.knots = boundary) + junction + bulk + angler"
)
model <- as.formula(paste("tangles ~", terms, "+ offset(log(hours))"))
factors <- setdiff(all.vars(model), c("tangles", "hours", "knots", "boundary"))

# As most would write it.
written <- function(epsilon = 1e-8, start = NULL) {
  fit <- glm(model, family = poisson, data = d, start = start, control = list(epsilon = epsilon))
  answer(coef(fit), vcovCL(fit, cluster = d$session, type = "HC1"), fit)
}

# As an expert would: the fit needs no more than the sums over cells, and the scores of
# a row need no more than its cell's row of the design.
expert <- function(epsilon = 1e-8, start = NULL) {
  codes <- lapply(d[factors], function(f) if (is.factor(f)) as.integer(f) else match(f, unique(f)))
  key <- Reduce(function(a, b) a * (max(b) + 1L) + b, codes)
  cell <- match(key, known <- unique(key))
  sums <- rowsum(cbind(tangles = d$tangles, hours = d$hours), cell)
  cells <- cbind(d[match(known, key), factors, drop = FALSE], sums)
  fit <- glm(model, family = poisson, data = cells, start = start, control = list(epsilon = epsilon))
  x <- model.matrix(fit)
  residual <- d$tangles - d$hours * (fitted(fit) / cells$hours)[cell]
  sums <- rowsum(x[cell, , drop = FALSE] * residual, d$session, reorder = FALSE)
  g <- nrow(sums)
  n <- nrow(d)
  correction <- g / (g - 1) * (n - 1) / (n - ncol(x))
  bread <- vcov(fit)
  answer(coef(fit), bread %*% crossprod(sums) %*% bread * correction, fit)
}

# The ratios, or the rates along the curve with the givens at their means by exposure.
answer <- function(b, v, fit) {
  if (question == "curve") {
    x <- model.matrix(fit)
    hours <- exp(fit$offset)
    mean <- colSums(x * hours) / sum(hours)
    at <- t(matrix(mean, length(mean), length(points)))
    at[, 2:(length(knots) + 2)] <- ns(points, knots = knots, Boundary.knots = boundary)
    names <- points
  } else {
    at <- diag(length(b))[grep("^junction", names(b)), , drop = FALSE]
    names <- sub("^junction", "", grep("^junction", names(b), value = TRUE))
  }
  list(names = as.character(names), log = as.vector(at %*% b), se = sqrt(rowSums(at %*% v * at)), start = b)
}

for (how in c("written", "expert")) {
  found <- timed(how, get(how))
  # Rounding, not the test of convergence, is to limit the agreement.
  found <- get(how)(epsilon = 1e-14, start = found$start)
  say("estimate", how, found$names, exact(found$log), exact(found$se))
}
