# Expected values of whole answers: a corrected comparison or a curve of a small
# invented journal, whose rows are stint positions. regenerate.R sources this.

answer_fit <- function(case) {
  d <- as.data.frame(case$data, stringsAsFactors = FALSE)
  for (f in names(case$levels)) d[[f]] <- factor(d[[f]], levels = as.character(unlist(case$levels[[f]])))
  d$exposure <- eval(parse(text = case$exposure), d)
  d <- d[d$exposure > 0, ]
  case$data <- d
  list(fit = fit_of(list(formula = case$formula, data = d)), data = d)
}

# The ratios of the levels of the factor of interest, in the order of case$names.
corrected <- function(case) {
  a <- answer_fit(case)
  f <- a$fit
  g <- a$data$session
  sessions <- length(unique(g))
  at <- match(unlist(case$names), names(coef(f)))
  if (anyNA(at)) stop(case$id, ": no coefficient ", setdiff(unlist(case$names), names(coef(f))))
  estimate <- unname(coef(f)[at])
  if (sessions >= 20) {
    se <- sqrt(diag(vcovCL(f, cluster = g, type = "HC1")))[at]
    df <- rep(sessions - 1, length(at))
  } else {
    cr2 <- bell_mccaffrey(f, g)
    se <- sqrt(diag(cr2$cov))[at]
    df <- sapply(at, function(j) satterthwaite(cr2, as.numeric(seq_along(coef(f)) == j)))
  }
  half <- qt(0.975, df) * se
  list(ratio = exp(estimate), se_log = unname(se), df = df, low = exp(estimate - half), high = exp(estimate + half),
       p = 2 * pt(-abs(estimate / se), df), rows = nrow(a$data), sessions = sessions)
}

# The curve at case$at with every other column at its exposure-weighted mean, and the
# F tests on the spline's columns and on its second derivatives at the inner knots.
curve_answer <- function(case) {
  a <- answer_fit(case)
  f <- a$fit
  x <- model.matrix(f)
  v <- vcovCL(f, cluster = a$data$session, type = "HC1")
  spline <- grep("^ns\\(", colnames(x))
  knots <- unlist(case$knots); ends <- unlist(case$boundary)
  basis <- function(x) ns(x, knots = knots, Boundary.knots = ends)
  mean <- colSums(x * a$data$exposure) / sum(a$data$exposure)
  points <- t(sapply(unlist(case$at), function(at) {
    row <- mean
    row[spline] <- basis(at)
    c(sum(row * coef(f)), sqrt(drop(row %*% v %*% row)))
  }))
  df2 <- length(unique(a$data$session)) - 1
  wald <- function(contrasts) {
    e <- contrasts %*% coef(f)[spline]
    q <- nrow(contrasts)
    pf(sum(e * solve(contrasts %*% v[spline, spline] %*% t(contrasts), e)) / q, q, df2, lower.tail = FALSE)
  }
  # The curve is a cubic on each side of a knot, so that its second derivative there is
  # exactly the second difference less the jump of the third derivative.
  third <- function(k, h) (basis(k + 3 * h) - 3 * basis(k + 2 * h) + 3 * basis(k + h) - basis(k))[1, ] / h^3
  bend <- function(k, h = 4) ((basis(k + h) - 2 * basis(k) + basis(k - h))[1, ] - h^3 / 6 * (third(k, h) - third(k, -h))) / h^2
  list(rate = exp(points[, 1]), se_log = points[, 2], matters_p = wald(diag(length(spline))),
       bends_p = wald(t(sapply(knots, bend))))
}
