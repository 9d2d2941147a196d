# Recomputes the figures of fieller.json and weibull.json that are not read in
# their sources, and prints them. Run it here: Rscript strength.R
# Needs R with survival, which comes with it (Debian: r-base-core r-recommended).
suppressPackageStartupMessages(library(survival))
figures <- function(what, ...) cat(what, sprintf("%.12g", c(...)), "\n")

# European Pharmacopoeia 5.3, example 5.1.1: columns S1 S2 T1 T2 U1 U2. The
# dose falls by a factor of 4 from 1 to 2, and the response with it rises.
rats <- matrix(c(300, 289, 310, 230, 250, 236,  310, 221, 290, 210, 268, 213,
                 330, 267, 360, 280, 273, 283,  290, 236, 341, 261, 240, 269,
                 364, 250, 321, 241, 307, 251,  328, 231, 370, 290, 270, 294,
                 390, 229, 303, 223, 317, 223,  360, 269, 334, 254, 312, 250,
                 342, 233, 295, 216, 320, 216,  306, 259, 315, 235, 265, 265), ncol = 6, byrow = TRUE)
y <- as.vector(rats)
sample <- rep(c("S", "T", "U"), each = 20)
dose <- rep(rep(log(4) * c(-0.5, 0.5), each = 10), 3)
fit <- lm(y ~ 0 + sample + dose)
within <- summary(lm(y ~ factor(paste(sample, dose))))$sigma^2 # 54 degrees of freedom
b <- coef(fit)["dose"]
for (k in c("sampleT", "sampleU"))
  figures(k, a = coef(fit)[k] - coef(fit)["sampleS"], b, within * 2 / 20, within / sum(dose^2))

# Bliss (1952): the ratio of slopes at which the t test just keeps.
titre <- c(1.3, 1.7, 2.4, 2.7, 3.6, 3.6, 4.7, 5.0, 6.1, 6.3, 2.8, 2.9, 4.1, 3.7, 5.5, 5.5, 6.4, 6.7,
           2.2, 2.1, 3.2, 3.2, 3.8, 3.9, 4.7, 4.9, 2.3, 2.3, 3.2, 3.0, 4.2, 4.2, 4.6, 5.1)
amount <- c(0, 0, rep(rep(1:4, each = 2), 4))
source <- factor(c("S", "S", rep(c("S", "U1", "U2", "U3"), each = 8)))
fit <- lm(titre ~ source:amount)
b <- coef(fit)
v <- vcov(fit)
for (i in 3:5) {
  excess <- function(ratio) {
    w <- replace(numeric(5), c(i, 2), c(1, -ratio))
    abs(sum(w * b)) / sqrt(drop(t(w) %*% v %*% w)) - qt(0.975, fit$df.residual)
  }
  ratio <- b[i] / b[2]
  figures(names(b)[i], b[i], b[2], v[i, i], v[2, 2], v[i, 2], ratio,
          uniroot(excess, c(ratio - 0.5, ratio), tol = 1e-13)$root, uniroot(excess, c(ratio, ratio + 0.5), tol = 1e-13)$root)
}

weibull <- function(what, time, event) {
  fit <- survreg(Surv(time, event) ~ 1, dist = "weibull", control = survreg.control(rel.tolerance = 1e-14))
  k <- 1 / fit$scale
  eta <- exp(coef(fit))
  loglik <- function(k, eta) sum(event * (log(k) - log(eta) + (k - 1) * log(time / eta))) - sum((time / eta)^k)
  top <- loglik(k, eta)
  b10 <- predict(fit, type = "uquantile", p = 0.1, se = TRUE)
  figures(what, k, eta, top, vcov(fit), exp(b10$fit[1] + c(-1, 0, 1) * qnorm(0.975) * b10$se.fit[1]))
  ends <- function(profile, at, far = 6) {
    over <- function(x) profile(exp(x)) - top + qchisq(0.95, 1) / 2
    exp(c(uniroot(over, c(log(at) - far, log(at)), tol = 1e-12)$root, uniroot(over, c(log(at), log(at) + far), tol = 1e-12)$root))
  }
  for (p in c(0.1, 1 - exp(-1))) {
    hazard <- -log1p(-p)
    profile <- function(value) optimize(function(s) loglik(exp(s), value * hazard^(-1 / exp(s))), log(k) + c(-4, 4), maximum = TRUE, tol = 1e-12)$objective
    figures("  profile", p, ends(profile, eta * hazard^(1 / k)))
  }
  figures("  profile of the shape", ends(function(k) loglik(k, (sum(time^k) / sum(event))^(1 / k)), k, far = 3))
}
weibull("NIST 8.4.1.3", c(54, 187, 216, 240, 244, 335, 361, 373, 375, 386, rep(500, 10)), rep(1:0, each = 10))
weibull("6-MP", c(6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35),
        c(1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0))
weibull("complete", c(0.8, 1.3, 1.9, 2.2, 2.8, 3.1, 3.9, 4.4, 5.6, 7.3), rep(1, 10))

# Values in each of two groups for power 80% (cv1, cv2, ratio), for welch_test.go.
for (plan in list(c(0.1, 0.1, 1.1), c(0.15, 0.08, 1.2), c(0.1, 0.1, 1.5), c(0.2, 0.2, 0.9)))
  figures("pulls", plan, power.t.test(delta = abs(log(plan[3])), sd = sqrt(sum(plan[1:2]^2) / 2), power = 0.8)$n)
