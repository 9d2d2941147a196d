# Recomputes the expected values of the files in this directory and
# stops with status 1 on a difference. Run it here: Rscript regenerate.R
# Needs R with sandwich and MASS (Debian: r-base-core r-cran-sandwich
# r-cran-mass). With clubSandwich and brglm2 (r-cran-clubsandwich r-cran-brglm2)
# it also checks our own formulas for CR2 and for the penalised fit against them.
#
# A case holds id, source, provenance ("read": seen in the source; "recalled":
# quoted from memory; "R": R's own reference output; "invented": our data),
# r_call, data and expected; a file adds the relative tolerance of its numbers.

suppressPackageStartupMessages({
  library(splines)
  library(sandwich)
  library(MASS)
})

# JSON tokens are R tokens but for brackets and colons.
read_json <- function(file) {
  text <- paste(readLines(file, encoding = "UTF-8"), collapse = "\n")
  token <- regmatches(text, gregexpr('"(\\\\.|[^"\\\\])*"|[][{}:,]|[^][{}:,"[:space:]]+', text))[[1]]
  swap <- c("{" = "list(", "}" = ")", "[" = "list(", "]" = ")", ":" = "=",
            "true" = "TRUE", "false" = "FALSE", "null" = "NULL")
  known <- token %in% names(swap)
  token[known] <- swap[token[known]]
  simplify(eval(parse(text = paste(token, collapse = " "), keep.source = FALSE)))
}

# Turns lists of equal-kind scalars into vectors, and of equal vectors into rows.
simplify <- function(x) {
  if (!is.list(x)) return(x)
  x <- lapply(x, simplify)
  if (length(x) == 0 || !is.null(names(x))) return(x)
  flat <- all(vapply(x, function(e) is.atomic(e) && length(e) > 0, TRUE))
  size <- unique(lengths(x))
  if (!flat || length(size) > 1) return(x)
  if (size == 1) unlist(x) else do.call(rbind, x)
}

# --- regression -----------------------------------------------------------

frame_of <- function(case) {
  d <- as.data.frame(case$data, stringsAsFactors = FALSE, check.names = FALSE)
  for (f in names(case$levels)) d[[f]] <- factor(d[[f]], levels = as.character(case$levels[[f]]))
  for (f in names(case$ordered)) d[[f]] <- factor(d[[f]], levels = as.character(case$ordered[[f]]), ordered = TRUE)
  d
}

# Refits from the converged coefficients: glm keeps the weights of its last but
# one iteration otherwise.
fit_of <- function(case) {
  d <- frame_of(case)
  f <- as.formula(case$formula)
  tight <- glm.control(epsilon = 1e-14, maxit = 100)
  first <- glm(f, poisson, d, control = tight)
  glm(f, poisson, d, control = tight, start = ifelse(is.na(coef(first)), 0, coef(first)))
}

check_design <- function(case, fit) {
  x <- unname(model.matrix(fit)); attributes(x)[c("assign", "contrasts")] <- NULL
  if (max(abs(x - case$x)) > 1e-12) stop(case$id, ": x is not the model matrix of the formula")
  if (max(abs(exp(if (is.null(fit$offset)) numeric(nrow(x)) else fit$offset) / case$exposure - 1)) > 1e-12)
    stop(case$id, ": exposure is not the offset of the formula")
  if (any(case$y != fit$y)) stop(case$id, ": y differs from the data")
}

poisson_glm <- function(case) {
  f <- fit_of(case)
  check_design(case, f)
  pearson <- sum((f$y - fitted(f))^2 / fitted(f))
  se <- sqrt(diag(vcov(f)))
  list(coef = coef(f), se = se, deviance = deviance(f), pearson_chi2 = pearson,
       se_quasi = se * sqrt(pearson / f$df.residual))
}

cluster_robust <- function(case) {
  f <- fit_of(case)
  check_design(case, f)
  g <- case$cluster
  hc1 <- vcovCL(f, cluster = g, type = "HC1")
  p <- length(coef(f))
  groups <- length(unique(g))
  e <- coef(f)[-1]
  w <- sum(e * solve(hc1[-1, -1], e))
  cr2 <- bell_mccaffrey(f, g)
  contrasts <- diag(p)
  test <- hotelling_z(cr2, contrasts[-1, , drop = FALSE], e)
  check_club_sandwich(case$id, f, g, cr2, contrasts, test)
  list(coef = coef(f), cov_hc1 = unname(hc1), wald_f = w / (p - 1),
       wald_f_p = pf(w / (p - 1), p - 1, groups - 1, lower.tail = FALSE),
       wald_chi2_p = pchisq(w, p - 1, lower.tail = FALSE),
       cov_cr2 = cr2$cov,
       df_cr2 = apply(contrasts, 1, function(c) satterthwaite(cr2, c)),
       p_cr2 = 2 * pt(-abs(coef(f)) / sqrt(diag(cr2$cov)), apply(contrasts, 1, function(c) satterthwaite(cr2, c))),
       htz_f = test$f, htz_df2 = test$df2, htz_p = test$p)
}

# CR2 by its definition with n×n matrices, on rows scaled by the root of the
# fitted values: there the working variance is the identity.
bell_mccaffrey <- function(f, g) {
  mu <- fitted(f)
  x <- model.matrix(f) * sqrt(mu)
  e <- (f$y - mu) / sqrt(mu)
  m <- solve(crossprod(x))
  keep <- diag(nrow(x)) - x %*% m %*% t(x)
  weights <- list(); meat <- 0
  for (c in unique(g)) {
    i <- which(g == c)
    s <- eigen(keep[i, i], symmetric = TRUE)
    root <- s$vectors %*% (ifelse(s$values > 1e-10, 1 / sqrt(abs(s$values)), 0) * t(s$vectors))
    u <- t(x[i, , drop = FALSE]) %*% root
    meat <- meat + tcrossprod(u %*% e[i])
    weights[[length(weights) + 1]] <- m %*% u %*% keep[i, , drop = FALSE]
  }
  list(cov = unname(m %*% meat %*% m), weights = weights, x = x, e = e, m = m)
}

satterthwaite <- function(cr2, contrast) {
  w <- sapply(cr2$weights, function(w) drop(contrast %*% w))
  inner <- crossprod(w)
  sum(diag(inner))^2 / sum(inner^2)
}

# Approximate Hotelling test "HTZ" of Pustejovsky & Tipton (2018).
hotelling_z <- function(cr2, contrasts, estimate) {
  q <- nrow(contrasts)
  stat <- sum(estimate * solve(contrasts %*% cr2$cov %*% t(contrasts), estimate))
  working <- contrasts %*% cr2$m %*% t(contrasts)
  s <- eigen(working, symmetric = TRUE)
  half <- s$vectors %*% (t(s$vectors) / sqrt(s$values))
  w <- lapply(cr2$weights, function(w) half %*% contrasts %*% w)
  total <- 0
  for (a in w) for (b in w) {
    k <- a %*% t(b)
    total <- total + sum(outer(diag(k), diag(k))) + sum(k * t(k))
  }
  df <- q * (q + 1) / total
  f <- stat * (df - q + 1) / (df * q)
  list(f = f, df2 = df - q + 1, p = pf(f, q, df - q + 1, lower.tail = FALSE))
}

check_club_sandwich <- function(id, f, g, cr2, contrasts, test) {
  if (!suppressMessages(requireNamespace("clubSandwich", quietly = TRUE))) return(invisible())
  x <- cr2$x
  z <- drop(x %*% coef(f)) + cr2$e
  line <- lm(z ~ 0 + x)
  v <- clubSandwich::vcovCR(line, cluster = g, type = "CR2", inverse_var = FALSE, target = rep(1, length(z)))
  t <- clubSandwich::coef_test(line, vcov = v, test = "Satterthwaite")
  h <- clubSandwich::Wald_test(line, constraints = contrasts[-1, , drop = FALSE], vcov = v, test = "HTZ")
  agree(id, "clubSandwich CR2", c(v), c(cr2$cov), 1e-8)
  df <- if (is.null(t$df_Satt)) t$df else t$df_Satt
  agree(id, "clubSandwich df", df, apply(contrasts, 1, function(c) satterthwaite(cr2, c)), 1e-7)
  agree(id, "clubSandwich HTZ", c(h$Fstat, h$df_denom, h$p_val), c(test$f, test$df2, test$p), 1e-7)
}

# --- penalised fit --------------------------------------------------------

firth <- function(case) {
  f <- suppressWarnings(glm(as.formula(case$formula), poisson, frame_of(case)))
  check_design(case, f)
  x <- model.matrix(f)
  information <- function(b) crossprod(x, x * (case$exposure * exp(drop(x %*% b))))
  penalised <- function(b) {
    eta <- drop(x %*% b) + log(case$exposure)
    -sum(dpois(case$y, exp(eta), log = TRUE)) - c(determinant(information(b))$modulus) / 2
  }
  slope <- function(b) {
    mu <- case$exposure * exp(drop(x %*% b))
    h <- mu * rowSums((x %*% solve(crossprod(x, x * mu))) * x)
    -drop(crossprod(x, case$y - mu + h / 2))
  }
  b <- c(log((sum(case$y) + 1) / sum(case$exposure)), numeric(ncol(x) - 1))
  for (round in 1:5)
    b <- optim(b, penalised, slope, method = "BFGS", control = list(reltol = 1e-16, maxit = 1000))$par
  # Newton steps with a numerical Jacobian reach more digits.
  for (round in 1:4) {
    jacobian <- sapply(seq_along(b), function(j) {
      h <- 1e-5 / max(1, abs(x[, j])) * (seq_along(b) == j)
      (slope(b + h) - slope(b - h)) / (2 * sum(h))
    })
    b <- b - solve(jacobian, slope(b))
  }
  scale <- 1 / pmax(1, apply(abs(x), 2, max))
  far <- b + 0.3 * scale
  for (round in 1:5)
    far <- optim(far, penalised, method = "BFGS", control = list(reltol = 1e-15, maxit = 1000, parscale = scale))$par
  agree(case$id, "maximum found without the slope", far, b, 1e-4)
  if (requireNamespace("brglm2", quietly = TRUE)) {
    j <- glm(as.formula(case$formula), poisson, frame_of(case), method = brglm2::brglmFit,
             type = "MPL_Jeffreys", control = list(epsilon = 1e-12, maxit = 1000))
    agree(case$id, "brglm2 MPL_Jeffreys", coef(j), b, 1e-6)
  }
  list(coef = unname(b), se = unname(sqrt(diag(solve(information(b))))))
}

# --- the rest -------------------------------------------------------------

natural_spline <- function(case) {
  d <- case$data
  b <- ns(d$x, knots = d$knots, Boundary.knots = d$boundary)
  out <- list(basis = unname(matrix(b, nrow(b))))
  if (!is.null(d$y)) out$fitted <- unname(fitted(lm(d$y ~ b)))
  out
}

weighted_quantile <- function(case)
  list(quantiles = unname(quantile(case$data$x, case$data$probs, type = 5)))

marginal <- function(loglik, start) {
  p <- log(start)
  for (round in 1:4)
    p <- optim(p, function(p) -loglik(exp(p)), method = "BFGS", control = list(reltol = 1e-16))$par
  # Newton steps on central differences reach more digits.
  for (round in 1:3) {
    h <- 1e-3
    f <- function(a, b) loglik(exp(p + c(a, b)))
    d1 <- function(a, b) (8 * (f(a * h, b * h) - f(-a * h, -b * h)) - (f(2 * a * h, 2 * b * h) - f(-2 * a * h, -2 * b * h))) / (12 * h)
    cross <- (f(h, h) - f(h, -h) - f(-h, h) + f(-h, -h)) / (4 * h^2)
    hess <- matrix(c((f(h, 0) - 2 * f(0, 0) + f(-h, 0)) / h^2, cross, cross, (f(0, h) - 2 * f(0, 0) + f(0, -h)) / h^2), 2)
    p <- p - solve(hess, c(d1(1, 0), d1(0, 1)))
  }
  exp(p)
}

gamma_poisson <- function(case) {
  d <- case$data
  times <- if (is.null(d$freq)) rep(1, length(d$events)) else d$freq
  loglik <- function(p) sum(times * dnbinom(d$events, size = p[1], prob = p[2] / (p[2] + d$exposure), log = TRUE))
  p <- marginal(loglik, c(1, 1))
  a <- p[1] + d$events; b <- p[2] + d$exposure
  list(a = p[1], b = p[2], loglik = loglik(p), mean = a / b, low = qgamma(0.025, a, b), high = qgamma(0.975, a, b))
}

beta_binomial <- function(case) {
  d <- case$data
  loglik <- function(p) sum(lchoose(d$trials, d$events) +
    lbeta(p[1] + d$events, p[2] + d$trials - d$events) - lbeta(p[1], p[2]))
  p <- marginal(loglik, c(1, 5))
  a <- p[1] + d$events; b <- p[2] + d$trials - d$events
  list(a = p[1], b = p[2], loglik = loglik(p), mean = a / (a + b), low = qbeta(0.025, a, b), high = qbeta(0.975, a, b))
}

empirical_bayes <- function(case) if (is.null(case$data$trials)) gamma_poisson(case) else beta_binomial(case)

control_chart <- function(case) {
  x <- case$data$events; t <- case$data$exposure
  centre <- sum(x) / sum(t)
  share <- isTRUE(case$share)
  se <- sqrt(centre * (if (share) 1 - centre else 1) / t)
  z <- (x / t - centre) / se
  sigma <- mean(abs(diff(z))) * sqrt(pi) / 2
  limits <- function(s) list(low = pmax(0, centre - 3 * s * se), high = pmin(if (share) 1 else Inf, centre + 3 * s * se))
  plain <- limits(1); wide <- limits(max(1, sigma))
  list(centre = centre, low = plain$low, high = plain$high,
       out = which(x / t < plain$low | x / t > plain$high),
       laney_sigma = sigma, laney_low = wide$low, laney_high = wide$high)
}

# Mixture of posteriors over priors, by brute force on a fine grid; the scale of
# the mean runs over ten standard errors to each side of its best value.
prior_average <- function(case) {
  d <- case$data
  share <- !is.null(d$trials)
  n <- if (share) d$trials else d$exposure
  centre <- sum(d$events) / sum(n)
  back <- if (share) plogis else exp
  loglik <- function(disp, mean) {
    if (share) sum(lchoose(n, d$events) + lbeta(mean / disp + d$events, (1 - mean) / disp + n - d$events) - lbeta(mean / disp, (1 - mean) / disp))
    else sum(dnbinom(d$events, size = 1 / disp, mu = mean * n, log = TRUE))
  }
  size <- sort(n)[length(n) %/% 2 + 1] * (if (share) 1 else centre)
  grid <- expand.grid(log_d = seq(log(1e-3 / size), log(1e3), by = 0.05),
                      eta = (if (share) qlogis(centre) else log(centre)) + seq(-3, 3, by = 0.01))
  mean <- back(grid$eta)
  disp <- exp(grid$log_d)
  b <- 1 / (1 + disp * size / 4)
  w <- mapply(loglik, disp, mean) + log(b * (1 - b))
  w <- exp(w - max(w)); keep <- w > 1e-7; w <- w[keep] / sum(w[keep]); disp <- disp[keep]; mean <- mean[keep]
  end <- function(i, p) uniroot(function(lx) {
    x <- back(lx)
    sum(w * (if (share) pbeta(x, mean / disp + d$events[i], (1 - mean) / disp + n[i] - d$events[i])
             else pgamma(x, 1 / disp + d$events[i], 1 / (disp * mean) + n[i]))) - p
  }, c(-20, 10), tol = 1e-10)$root
  list(low = back(sapply(case$units, end, 0.025)), high = back(sapply(case$units, end, 0.975)))
}

# Expected zeros and the variance of their difference, with the information
# summed over the distribution.
excess_zeros <- function(case) {
  k <- rep(case$data$events, case$data$times); t <- rep(case$data$exposure, case$data$times)
  if (isTRUE(case$poisson)) {
    mu <- sum(k) / sum(t) * t; p0 <- exp(-mu)
    variance <- sum(p0 * (1 - p0)) - sum(p0 * mu)^2 / sum(mu)
    return(list(dispersion = 0, observed = sum(k == 0), expected = sum(p0), sd = sqrt(variance)))
  }
  p <- marginal(function(p) sum(dnbinom(k, size = p[1], mu = p[2] * t, log = TRUE)), c(1, sum(k) / sum(t)))
  at <- function(q) function(x, t) dnbinom(x, size = exp(-q[2]), mu = exp(q[1]) * t, log = TRUE)
  q <- c(log(p[2]), -log(p[1])); h <- 1e-5
  slope <- function(x, t, j) (at(q + h * (1:2 == j))(x, t) - at(q - h * (1:2 == j))(x, t)) / (2 * h)
  info <- matrix(0, 2, 2); cross <- c(0, 0); p0 <- numeric(0)
  for (u in unique(t)) {
    x <- 0:2000; f <- exp(at(q)(x, u)); s <- cbind(slope(x, u, 1), slope(x, u, 2)); m <- sum(t == u)
    info <- info + m * crossprod(s, f * s); cross <- cross + m * f[1] * s[1, ]
    p0 <- c(p0, rep(f[1], m))
  }
  variance <- sum(p0 * (1 - p0)) - drop(cross %*% solve(info, cross))
  list(dispersion = 1 / p[1], observed = sum(k == 0), expected = sum(p0), sd = sqrt(variance))
}

# --- comparison -----------------------------------------------------------

failures <- 0
agree <- function(id, what, got, want, tolerance) {
  got <- unlist(got, use.names = FALSE); want <- unlist(want, use.names = FALSE)
  if (length(got) == length(want) && (length(got) == 0 ||
      all((got == want) | abs(got - want) <= tolerance * abs(want) + 1e-10 * tolerance / 1e-8))) return(invisible())
  failures <<- failures + 1
  cat("DIFFERS", id, what, "\n  computed", format(got, digits = 15), "\n  in file ", format(want, digits = 15), "\n")
}

topics <- list("poisson-glm.json" = poisson_glm, "cluster-robust.json" = cluster_robust, "firth.json" = firth,
               "natural-spline.json" = natural_spline, "weighted-quantile.json" = weighted_quantile,
               "empirical-bayes.json" = empirical_bayes, "control-chart.json" = control_chart,
               "prior-average.json" = prior_average, "excess-zeros.json" = excess_zeros)

source("answers.R")
source("exact.R")
topics <- c(topics, list("corrected.json" = corrected, "curves.json" = curve_answer))

main <- function() {
  for (file in names(topics)) {
    content <- read_json(file)
    for (case in content$cases) {
      computed <- topics[[file]](case)
      for (what in names(case$expected))
        agree(case$id, what, c(computed[[what]]), c(case$expected[[what]]), content$tolerance)
    }
    cat(file, length(content$cases), "cases\n")
  }
  check_exact()
  if (failures > 0) quit(status = 1)
}

if (!exists("building")) main()
