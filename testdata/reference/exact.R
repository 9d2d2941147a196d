# Recomputes the intervals, comparisons and plans of single rates and shares.
# Sourced by regenerate.R. A case's "digits" is how many were published.

limits <- function(list, f) lapply(list, function(l) { ends <- f(l$conf); list(conf = l$conf, low = ends[1], high = ends[2]) })

rate_interval <- function(case) limits(case$expected, function(conf) as.vector(poisson.test(case$data$k, case$data$t, conf.level = conf)$conf.int))
share_interval <- function(case) limits(case$expected, function(conf) as.vector(binom.test(case$data$k, case$data$n, conf.level = conf)$conf.int))

# Clopper-Pearson limits of the first count's share, turned into a ratio; p is
# twice the smaller tail.
rate_ratio <- function(case) with(case$data, {
  back <- function(share) share / (1 - share) * t2 / t1
  ends <- function(conf) back(as.vector(binom.test(k1, k1 + k2, conf.level = conf)$conf.int))
  null <- t1 / (t1 + t2); n <- k1 + k2
  tails <- c(pbinom(k1, n, null), pbinom(k1 - 1, n, null, lower.tail = FALSE))
  c(list(ratio = (k1 / t1) / (k2 / t2)), list(limits = limits(case$expected$limits, ends), p = min(1, 2 * min(tails))))[names(case$expected)]
})

# The score statistic of a ratio at theta, with the shares that are likeliest
# under it found by search (Koopman 1984), and Miettinen and Nurminen's factor.
share_ratio <- function(case) with(case$data, {
  factor <- if (case$expected$method == "Miettinen-Nurminen") (n1 + n2) / (n1 + n2 - 1) else 1
  score <- function(theta) {
    loglik <- function(p2) dbinom(k1, n1, p2 * theta, log = TRUE) + dbinom(k2, n2, p2, log = TRUE)
    p2 <- optimize(loglik, c(1e-9, min(1, 1 / theta) - 1e-12), maximum = TRUE, tol = 1e-14)$maximum
    p1 <- p2 * theta
    (k1 / n1 - theta * k2 / n2) / sqrt(factor * (p1 * (1 - p1) / n1 + theta^2 * p2 * (1 - p2) / n2))
  }
  ratio <- (k1 / n1) / (k2 / n2)
  ends <- function(conf) {
    z <- qnorm((1 + conf) / 2)
    exp(c(uniroot(function(l) score(exp(l)) - z, log(ratio) + c(-8, -1e-6), tol = 1e-12)$root,
          uniroot(function(l) score(exp(l)) + z, log(ratio) + c(1e-6, 8), tol = 1e-12)$root))
  }
  list(ratio = ratio, limits = limits(case$expected$limits, ends), p = 2 * pnorm(-abs(score(1))))
})

false_discovery <- function(case) list(q = p.adjust(case$data$p, "BH"))

planning <- function(case) with(case$data, {
  z <- qnorm(1 - alpha / 2) + qnorm(power)
  list(n = if (kind == "rate") z^2 / (2 * (sqrt(a) - sqrt(b))^2) else 2 * z^2 / (2 * asin(sqrt(a)) - 2 * asin(sqrt(b)))^2)
})

amounts <- function(case) list(se = t.test(case$data$a, case$data$b)$stderr)

exact <- list("rate-interval.json" = rate_interval, "rate-ratio.json" = rate_ratio, "share-interval.json" = share_interval,
              "share-ratio.json" = share_ratio, "false-discovery.json" = false_discovery, "planning.json" = planning, "amounts.json" = amounts)

# numbers turns what stands in a file for a number without end into one.
numbers <- function(x) rapply(list(x), function(v) if (is.character(v)) as.numeric(v) else v, how = "unlist")

# check_exact compares every number of a case that the file expects.
check_exact <- function() for (file in names(exact)) {
  cases <- read_json(file)$cases
  for (case in cases) {
    computed <- exact[[file]](case)
    want <- case$expected
    digits <- if (is.null(names(want)) || is.null(want$digits)) 9 else want$digits
    if (is.null(names(want))) agree(case$id, "limits", numbers(computed), numbers(want), 10^(1 - digits))
    else for (what in setdiff(names(want), c("digits", "method"))) agree(case$id, what, numbers(computed[[what]]), numbers(want[[what]]), 10^(1 - digits))
  }
  cat(file, length(cases), "cases\n")
}
