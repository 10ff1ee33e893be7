# Writes reference.csv: the check values of analysis/stat, as R computes them.
#
#   Rscript analysis/stat/testdata/reference.R > analysis/stat/testdata/reference.csv
#
# One row per quantity (id, quantity, value with 15 digits). Ids and quantity names are those
# of published.csv, which holds what the sources print. Needs R 4.0 or later with its
# recommended package survival. What base R lacks is written out from its textbook formula;
# where base R or survival has the method, it is the one that is used, or is compared.
suppressPackageStartupMessages(library(survival))
options(warn = -1)
cat("id,quantity,value\n")
emit <- function(id, quantity, value) {
  stopifnot(length(quantity) == length(value), !grepl(",", quantity, fixed = TRUE))
  cat(sprintf("%s,%s,%s\n", id, quantity,
              ifelse(is.na(value), "NA", sprintf("%.15g", as.numeric(value)))), sep = "")
}
lu <- c("lower", "upper")

## ------------------------------------------------------------------ 1 one proportion
wilson <- function(x, n, conf = .95, z = qnorm(1 - (1 - conf) / 2)) {
  p <- x / n
  m <- (p + z^2 / (2 * n)) / (1 + z^2 / n)
  h <- z * sqrt(p * (1 - p) / n + z^2 / (4 * n^2)) / (1 + z^2 / n)
  c(m - h, m + h)
}
wilson_cc <- function(x, n, conf = .95, z = qnorm(1 - (1 - conf) / 2)) {
  p <- x / n; q <- 1 - p
  l <- (2 * n * p + z^2 - 1 - z * sqrt(z^2 - 2 - 1 / n + 4 * p * (n * q + 1))) / (2 * (n + z^2))
  u <- (2 * n * p + z^2 + 1 + z * sqrt(z^2 + 2 - 1 / n + 4 * p * (n * q - 1))) / (2 * (n + z^2))
  c(if (x == 0) 0 else l, if (x == n) 1 else u)
}
clopper <- function(x, n, conf = .95) {
  a <- (1 - conf) / 2
  c(if (x == 0) 0 else qbeta(a, x, n - x + 1), if (x == n) 1 else qbeta(1 - a, x + 1, n - x))
}
jeffreys <- function(x, n, conf = .95) {
  a <- (1 - conf) / 2
  c(if (x == 0) 0 else qbeta(a, x + .5, n - x + .5), if (x == n) 1 else qbeta(1 - a, x + .5, n - x + .5))
}
midp_ci <- function(x, n, conf = .95) {
  a <- (1 - conf) / 2; tol <- 1e-14
  up <- function(p) pbinom(x, n, p) - .5 * dbinom(x, n, p) - a
  lo <- function(p) 1 - pbinom(x, n, p) + .5 * dbinom(x, n, p) - a
  c(if (x == 0) 0 else uniroot(lo, c(1e-12, 1 - 1e-12), tol = tol)$root,
    if (x == n) 1 else uniroot(up, c(1e-12, 1 - 1e-12), tol = tol)$root)
}
for (cs in list(c(81, 263), c(15, 148), c(0, 20), c(1, 29))) {
  x <- cs[1]; n <- cs[2]; tag <- paste0(x, "/", n)
  r <- prop.test(x, n, correct = FALSE)$conf.int
  stopifnot(max(abs(r - wilson(x, n))) < 1e-12)
  emit("WILSON-1", paste(tag, lu), r)
  r <- prop.test(x, n, correct = TRUE)$conf.int
  stopifnot(max(abs(r - wilson_cc(x, n))) < 1e-9)
  emit("WILSON-2", paste(tag, lu), wilson_cc(x, n))
  r <- binom.test(x, n)$conf.int
  stopifnot(max(abs(r - clopper(x, n))) < 1e-9)
  emit("CP-1", paste(tag, lu), clopper(x, n))
  emit("MIDP-1", paste(tag, lu), midp_ci(x, n))
  emit("JEFF-2", paste(tag, lu), jeffreys(x, n))
}
emit("WILSON-3", "26/200 one-sided 95% lower (z=1.645)", wilson(26, 200, z = 1.645)[1])
emit("WILSON-3", "26/200 one-sided 95% lower (exact z)", wilson(26, 200, z = qnorm(.95))[1])
emit("WILSON-4", paste("0/25 score", lu), pmax(0, wilson(0, 25)))
emit("WILSON-4", "0/25 Clopper-Pearson upper", clopper(0, 25)[2])
emit("CP-2", paste("4/20 90%", lu), clopper(4, 20, .90))
for (x in 0:4) emit("JEFF-1", paste0("n=7 x=", x, " ", lu), jeffreys(x, 7))

## ------------------------------------------------------------------ 2 two proportions
newcombe <- function(x1, n1, x2, n2, f = wilson) {
  d <- x1 / n1 - x2 / n2; a <- f(x1, n1); b <- f(x2, n2)
  c(d - sqrt((x1 / n1 - a[1])^2 + (b[2] - x2 / n2)^2),
    d + sqrt((a[2] - x1 / n1)^2 + (x2 / n2 - b[1])^2))
}
for (cs in list(c(56, 70, 48, 80), c(9, 10, 3, 10), c(6, 7, 2, 7), c(5, 56, 0, 29), c(0, 10, 0, 20), c(10, 10, 0, 20)))
  emit("DIFF-1", paste0(cs[1], "/", cs[2], " vs ", cs[3], "/", cs[4], " ", lu),
       newcombe(cs[1], cs[2], cs[3], cs[4]))
emit("DIFF-2", paste("56/70 vs 48/80 with cc", lu), newcombe(56, 70, 48, 80, wilson_cc))
katz <- function(x1, n1, x2, n2) {
  r <- (x1 / n1) / (x2 / n2); s <- sqrt(1 / x1 - 1 / n1 + 1 / x2 - 1 / n2)
  c(r, r * exp(c(-1, 1) * qnorm(.975) * s))
}
koopman <- function(x1, n1, x2, n2, conf = .95) {
  stat <- function(r) {             # constrained MLE of p2, then Pearson chi-square
    A <- (n1 + n2) * r; B <- -(n1 * r + x1 + n2 + x2 * r); C <- x1 + x2
    p2 <- (-B - sqrt(B^2 - 4 * A * C)) / (2 * A); p1 <- r * p2
    (x1 - n1 * p1)^2 / (n1 * p1 * (1 - p1)) + (x2 - n2 * p2)^2 / (n2 * p2 * (1 - p2)) - qchisq(conf, 1)
  }
  r0 <- (x1 / n1) / (x2 / n2)
  c(r0, uniroot(stat, c(r0 / 100, r0 * (1 - 1e-9)), tol = 1e-13)$root,
        uniroot(stat, c(r0 * (1 + 1e-9), r0 * 100), tol = 1e-13)$root)
}
elu <- c("estimate", lu)
emit("RR-1", paste("27/122 vs 44/487 Katz", elu), katz(27, 122, 44, 487))
emit("RR-2", paste("189/11034 vs 104/11037 Katz", elu), katz(189, 11034, 104, 11037))
emit("RR-3", paste("36/40 vs 16/80 Koopman", elu), koopman(36, 40, 16, 80))
cond_or <- function(m, conf = .95) {   # exact conditional MLE and tail-inverted limits, solved tightly
  r1 <- sum(m[1, ]); r2 <- sum(m[2, ]); c1 <- sum(m[, 1]); x <- m[1, 1]
  s <- max(0, c1 - r2):min(r1, c1); ld <- dhyper(s, r1, r2, c1, log = TRUE)
  pr <- function(lo) { v <- ld + s * lo; v <- exp(v - max(v)); v / sum(v) }
  f <- function(g) exp(uniroot(g, c(-30, 30), tol = 1e-14)$root); a <- (1 - conf) / 2
  c(f(function(l) sum(s * pr(l)) - x), f(function(l) sum(pr(l)[s >= x]) - a), f(function(l) sum(pr(l)[s <= x]) - a)) }
emit("OR-2", paste("tight solve", elu), cond_or(matrix(c(7, 58, 15, 472), 2)))
tea <- matrix(c(3, 1, 1, 3), 2)
emit("FISHER-1", c("tea one-sided p", "tea two-sided p", "tea one-sided mid-p"),
     c(fisher.test(tea, alternative = "greater")$p.value, fisher.test(tea)$p.value,
       phyper(3, 4, 4, 4, lower.tail = FALSE) + .5 * dhyper(3, 4, 4, 4)))
emit("FISHER-2", "[8 2; 1 5] two-sided p", fisher.test(matrix(c(8, 1, 2, 5), 2))$p.value)
cv <- matrix(c(2, 10, 15, 3), 2); fc <- fisher.test(cv)
emit("FISHER-3", c("convictions two-sided p", "convictions one-sided (less) p"),
     c(fc$p.value, fisher.test(cv, alternative = "less")$p.value))
emit("FISHER-3", paste("tight solve OR", elu), cond_or(cv))

## ------------------------------------------------------------------ 3 stratified 2x2
mh_full <- function(t3) {          # t3: 2 x 2 x K
  a <- t3[1, 1, ]; b <- t3[1, 2, ]; c <- t3[2, 1, ]; d <- t3[2, 2, ]; n <- a + b + c + d
  R <- a * d / n; S <- b * c / n; P <- (a + d) / n; Q <- (b + c) / n
  or <- sum(R) / sum(S)
  v <- sum(P * R) / (2 * sum(R)^2) + sum(P * S + Q * R) / (2 * sum(R) * sum(S)) + sum(Q * S) / (2 * sum(S)^2)
  r1 <- a + b; c1 <- a + c
  E <- r1 * c1 / n; V <- r1 * (n - r1) * c1 * (n - c1) / (n^2 * (n - 1))
  cmh <- sum(a - E)^2 / sum(V); cmhc <- (max(0, abs(sum(a - E)) - .5))^2 / sum(V)
  fit <- function(k) {             # cell (1,1) that reproduces the pooled OR with the same margins
    if (abs(or - 1) < 1e-12) return(E[k])
    A <- 1 - or; B <- n[k] - r1[k] - c1[k] + or * (r1[k] + c1[k]); C <- -or * r1[k] * c1[k]
    z <- (-B + c(-1, 1) * sqrt(B^2 - 4 * A * C)) / (2 * A)
    z[z > max(0, r1[k] + c1[k] - n[k]) - 1e-9 & z < min(r1[k], c1[k]) + 1e-9][1]
  }
  A <- sapply(seq_along(n), fit)
  VA <- 1 / (1 / A + 1 / (r1 - A) + 1 / (c1 - A) + 1 / (n - r1 - c1 + A))
  bd <- sum((a - A)^2 / VA); tarone <- bd - sum(a - A)^2 / sum(VA)
  c(or, sqrt(v), or * exp(c(-1, 1) * qnorm(.975) * sqrt(v)), cmh, pchisq(cmh, 1, lower.tail = FALSE),
    cmhc, pchisq(cmhc, 1, lower.tail = FALSE), bd, tarone, length(n) - 1,
    pchisq(bd, length(n) - 1, lower.tail = FALSE), pchisq(tarone, length(n) - 1, lower.tail = FALSE))
}
mhq <- c("MH odds ratio", "RBG se(log OR)", "OR lower", "OR upper", "CMH chi2 (no cc)", "CMH p (no cc)",
         "CMH chi2 (cc)", "CMH p (cc)", "Breslow-Day chi2", "Breslow-Day-Tarone chi2", "BD df", "BD p", "Tarone p")
m <- mh_full(UCBAdmissions); r <- mantelhaen.test(UCBAdmissions, correct = FALSE)
stopifnot(abs(m[1] - r$estimate) < 1e-12, max(abs(m[3:4] - r$conf.int)) < 1e-10, abs(m[5] - r$statistic) < 1e-10)
emit("MH-1", mhq, m)
rab <- array(c(0, 0, 6, 5, 3, 0, 3, 6, 6, 2, 0, 4, 5, 6, 1, 0, 2, 5, 0, 0), c(2, 2, 5))
emit("MH-2", c("CMH p (cc)", "exact p two-sided", "exact p greater"),
     c(mantelhaen.test(rab)$p.value, mantelhaen.test(rab, exact = TRUE)$p.value,
       mantelhaen.test(rab, exact = TRUE, alternative = "greater")$p.value))
st <- function(...) array(unlist(lapply(list(...), function(v) v[c(1, 3, 2, 4)])), c(2, 2, length(list(...))))
china <- st(c(126, 100, 35, 61), c(908, 688, 497, 807), c(913, 747, 336, 598), c(235, 172, 58, 121),
            c(402, 308, 121, 215), c(182, 156, 72, 98), c(60, 99, 11, 43), c(104, 89, 21, 36))
emit("MH-3", mhq, mh_full(china))
cream <- st(c(11, 25, 10, 27), c(16, 4, 22, 10), c(14, 5, 7, 12), c(2, 14, 1, 16),
            c(6, 11, 0, 12), c(1, 10, 0, 10), c(1, 4, 1, 8), c(4, 2, 6, 1))
emit("MH-4", mhq, mh_full(cream))

## ------------------------------------------------------------------ 4 false discovery rate
p15 <- c(.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1)
q15 <- p.adjust(p15, "BH")
emit("BH-1", paste0("adjusted p[", 1:15, "]"), q15)
emit("BH-1", "rejections BH q=0.05", sum(q15 <= .05))
p25 <- c(.001, .008, .039, .041, .042, .06, .074, .205, .212, .216, .222, .251, .269, .275, .34, .341, .384, .569,
         .594, .696, .762, .94, .942, .975, .986)
q25 <- p.adjust(p25, "BH")
emit("BH-2", paste0("adjusted p[", 1:7, "]"), q25[1:7])
emit("BH-2", "rejections at FDR 0.25", sum(q25 <= .25 - 1e-12))

## ------------------------------------------------------------------ 5 Poisson counts and rates
garwood <- function(c, conf = .95) { a <- (1 - conf) / 2
  c(if (c == 0) 0 else qchisq(a, 2 * c) / 2, qchisq(1 - a, 2 * c + 2) / 2) }
for (k in c(0, 1, 2, 3, 4, 5, 10, 12, 20)) {
  if (k > 0) stopifnot(max(abs(garwood(k) - poisson.test(k)$conf.int)) < 1e-8)
  emit("POIS-1", paste0("c=", k, " ", lu), garwood(k)) }
pt <- poisson.test(137, 24.19893)
emit("POIS-2", paste("137 in 24.19893", elu), c(pt$estimate, pt$conf.int))
p2 <- poisson.test(c(11, 21), c(800, 3011))
emit("POIS2-1", c("rate ratio", "RR lower", "RR upper", "exact two-sided p"), c(p2$estimate, p2$conf.int, p2$p.value))
b1 <- 41; t1 <- 28010; b0 <- 15; t0 <- 19017
rr <- (b1 / t1) / (b0 / t0)
emit("POIS2-2", "rate ratio", rr)
N <- b1 + b0; pi2rr <- function(pr) pr / (1 - pr) * t0 / t1
emit("POIS2-2", paste("exact conditional", lu), pi2rr(clopper(b1, N)))
emit("POIS2-2", paste("mid-p conditional", lu), pi2rr(midp_ci(b1, N)))
emit("POIS2-3", "conditional (C-test) two-sided p", binom.test(0, 3, .5)$p.value)

## ------------------------------------------------------------------ 6 empirical Bayes
y <- c(0,0,0,0,0,0,0,0,0,0, 0,0,0,0,1,1,1,1,1,1, 1,1,2,2,2,2,2,2,2,2, 2,1,5,2,5,3,2,7,7,3,
       3,2,9,10,4,4,4,4,4,4, 4,10,4,4,4,5,11,12,5,5, 6,5,6,6,6,6,16,15,15,9, 4)
n <- c(20,20,20,20,20,20,20,19,19,19, 19,18,18,17,20,20,20,20,19,19, 18,18,25,24,23,20,20,20,20,20,
       20,10,49,19,46,27,17,49,47,20, 20,13,48,50,20,20,20,20,20,20, 20,48,19,19,19,22,46,49,20,20,
       23,19,22,20,20,20,52,47,46,24, 14)
stopifnot(length(y) == 71, length(n) == 71)
emit("EB-1", c("groups", "sum y", "sum n"), c(71, sum(y), sum(n)))
h <- (y / n)[1:70]; mu <- mean(h); s2 <- var(h); ab <- mu * (1 - mu) / s2 - 1
emit("EB-1", c("historical mean", "historical sd", "moment alpha", "moment beta"), c(mu, sqrt(s2), ab * mu, ab * (1 - mu)))
pa <- ab * mu + 4; pb <- ab * (1 - mu) + 10
emit("EB-1", "posterior mean for 4/14", pa / (pa + pb))
bbll <- function(la, y, n) { a <- exp(la[1]); b <- exp(la[2]); -sum(lbeta(a + y, b + n - y) - lbeta(a, b)) }
for (k in c(70, 71)) {
  o <- optim(log(c(2, 14)), bbll, y = y[1:k], n = n[1:k], control = list(reltol = 1e-15, maxit = 5000))
  la <- o$par                              # polish with Newton steps on the analytic score
  for (it in 1:50) { a <- exp(la[1]); b <- exp(la[2]); yy <- y[1:k]; nn <- n[1:k]
    g <- c(a * sum(digamma(a + yy) - digamma(a + b + nn) - digamma(a) + digamma(a + b)),
           b * sum(digamma(b + nn - yy) - digamma(a + b + nn) - digamma(b) + digamma(a + b)))
    H <- optimHess(la, bbll, y = yy, n = nn); la <- la + solve(H, g); if (max(abs(g)) < 1e-9) break }
  emit("EB-1", paste0("beta-binomial MLE ", c("alpha", "beta"), " k=", k), exp(la)) }
cl <- c(7840, 1317, 239, 42, 14, 4, 4, 1); k <- 0:7
nb <- function(l) -sum(cl * dnbinom(k, size = exp(l[1]), mu = exp(l[2]), log = TRUE))
o <- optim(c(0, -1), nb, method = "BFGS", control = list(reltol = 1e-16)); nu <- exp(o$par[1]); sg <- exp(o$par[2]) / nu
emit("EB-2", c("gamma shape nu", "gamma scale sigma"), c(nu, sg))
emit("EB-2", paste0("gamma-MLE E(theta|x=", 0:6, ")"), (nu + 0:6) * sg / (1 + sg))
mt <- c(70, 38, 17, 10, 9, 3, 2, 1); k <- 0:7; N <- sum(mt); m <- sum(k * mt) / N
sc <- function(r) sum(mt * (digamma(r + k) - digamma(r))) + N * log(r / (r + m))      # score for size at mu = mean
r <- uniroot(sc, c(.05, 50), tol = 1e-14)$root; e <- N * dnbinom(k, size = r, mu = m)
emit("EB-4", c("mean", "NB size k (MLE)", paste0("expected x=", k), "expected x>=8"), c(m, r, e, N - sum(e)))
emit("EB-5", c("posterior mean 3 deaths prior Gamma(3 5)", "P(theta>1) first", "posterior mean 30 deaths in 10 years", "P(theta>1) second"),
     c(6 / 7, pgamma(1, 6, 7, lower.tail = FALSE), 33 / 25, pgamma(1, 33, 25, lower.tail = FALSE)))
emit("EB-5", paste0("predictive NB next-exposure-2 quantile ", c(.5, .9, .95, .99)),
     qnbinom(c(.5, .9, .95, .99), size = 6, prob = 7 / 9))
emit("EB-5", c("predictive NB P(X=0)", "predictive NB P(X<=3)"), c(dnbinom(0, 6, 7 / 9), pnbinom(3, 6, 7 / 9)))

## ------------------------------------------------------------------ 7 lognormal repair times
rt <- c(.2, .3, .5, .5, .5, .5, .6, .6, .7, .7, .7, .8, .8, 1, 1, 1, 1, 1.1, 1.3, 1.5, 1.5, 1.5, 1.5, 2, 2, 2.2, 2.5, 2.7,
        3, 3, 3.3, 3.3, 4, 4, 4.5, 4.7, 5, 5.4, 5.4, 7, 7.5, 8.8, 9, 10.3, 22, 24.5)
stopifnot(length(rt) == 46)
l <- log(rt); lm <- mean(l); s <- sd(l); nn <- length(l)
emit("LOGN-1", c("n", "mean log", "sd log (n-1)", "lognormal mean", "median", "95th percentile (exact z)", "geometric sd", "sample median"),
     c(nn, lm, s, exp(lm + s^2 / 2), exp(lm), exp(lm + qnorm(.95) * s), exp(s), median(rt)))
r5 <- rt; r5[match(5.4, r5) + 1] <- 5.5; l5 <- log(r5); m5 <- mean(l5); s5 <- sd(l5)
emit("LOGN-4", c("mean log", "sd log (n-1)", "lognormal mean", "median", "95th percentile (z=1.645)"),
     c(m5, s5, exp(m5 + s5^2 / 2), exp(m5), exp(m5 + 1.645 * s5)))
coxci <- function(m, s2, n, crit) { t <- m + s2 / 2; h <- crit * sqrt(s2 / n + s2^2 / (2 * (n - 1))); c(exp(t), exp(t - h), exp(t + h)) }
emit("LOGN-1", paste("Cox mean", elu), coxci(lm, s^2, nn, qnorm(.975)))
emit("LOGN-1", paste("modified Cox (t) mean", elu), coxci(lm, s^2, nn, qt(.975, nn - 1)))
emit("LOGN-3", paste("n=40 5.127 1.009 Cox", elu), coxci(5.127, 1.009, 40, qnorm(.975)))
emit("LOGN-3", paste("n=40 5.127 1.009 modified Cox", elu), coxci(5.127, 1.009, 40, qt(.975, 39)))
emit("LOGN-3", paste("n=40 5.127 1.009 naive exp(mean) CI", lu), exp(5.127 + c(-1, 1) * qt(.975, 39) * sqrt(1.009 / 40)))

## ------------------------------------------------------------------ 8 survival
t6 <- c(6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
d6 <- c(1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
tp <- c(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
for (ct in c("log", "log-log")) {
  f <- summary(survfit(Surv(t6, d6) ~ 1, conf.type = ct))
  if (ct == "log") { emit("KM-1", paste0("S(", f$time, ")"), f$surv); emit("KM-1", paste0("Greenwood se(", f$time, ")"), f$std.err) }
  emit("KM-1", paste0(ct, " lower(", f$time, ")"), f$lower); emit("KM-1", paste0(ct, " upper(", f$time, ")"), f$upper) }
fr <- data.frame(t = c(t6, tp), d = c(d6, rep(1, 21)), g = rep(c("6-MP", "placebo"), each = 21))
sd1 <- survdiff(Surv(t, d) ~ g, fr)
emit("KM-1", c("log-rank chi2", "log-rank p", "expected 6-MP", "expected placebo"), c(sd1$chisq, pchisq(sd1$chisq, 1, lower.tail = FALSE), sd1$exp))
q <- quantile(survfit(Surv(t, d) ~ g, fr), .5)$quantile
emit("KM-1", c("median 6-MP", "median placebo"), q)
rm1 <- summary(survfit(Surv(t6, d6) ~ 1), rmean = 35)$table
emit("KM-1", c("restricted mean to 35", "se restricted mean"), rm1[c("rmean", "se(rmean)")])
am <- survfit(Surv(time, status) ~ x, aml); sa <- survdiff(Surv(time, status) ~ x, aml)
qa <- summary(am)$table
emit("KM-2", c("aml median maintained", "aml median lower (log)", "aml median nonmaintained", "aml median lower nonmaintained (log)", "aml log-rank chi2", "aml log-rank p",
               "aml expected maintained", "aml expected nonmaintained"),
     c(qa[1, "median"], qa[1, "0.95LCL"], qa[2, "median"], qa[2, "0.95LCL"], sa$chisq, pchisq(sa$chisq, 1, lower.tail = FALSE), sa$exp))

## ------------------------------------------------------------------ 9 trend tests
fx <- c(5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478); TT <- 1500; rr <- length(fx)
emit("TREND-1", c("MIL-HDBK chi2", "chi2 df", "upper-tail p", "Laplace z", "Laplace two-sided p"),
     c(2 * sum(log(TT / fx)), 2 * rr, pchisq(2 * sum(log(TT / fx)), 2 * rr, lower.tail = FALSE),
       (sum(fx) - rr * TT / 2) / (TT * sqrt(rr / 12)), 2 * pnorm(-abs((sum(fx) - rr * TT / 2) / (TT * sqrt(rr / 12))))))
sm <- c(83, 90, 129, 70); pn <- c(86, 93, 136, 82)
p2 <- prop.trend.test(sm, pn)
emit("TREND-4", c("trend chi2", "trend p"), c(p2$statistic, p2$p.value))
mal <- c(48, 38, 5, 1, 1); tot <- c(17066, 14464, 788, 126, 37) + mal; sc <- c(0, .5, 1.5, 4, 7)
z2 <- prop.trend.test(mal, tot, sc)$statistic
emit("TREND-5", "Cochran-Armitage z2", z2)
mk <- function(x) { n <- length(x); S <- sum(sapply(1:(n - 1), function(i) sum(sign(x[(i + 1):n] - x[i])))); t <- table(x)
  V <- (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5))) / 18; z <- (S - sign(S)) / sqrt(V); c(S, V, z, pnorm(-abs(z)), 2 * pnorm(-abs(z))) }
emit("TREND-6", c("S", "Var(S)", "Z", "one-sided p", "two-sided p"), mk(c(12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11, 17.3, 15.9, 19, 18.3, 20.1, 21.7)))
kex <- function(S, n) { f <- 1; for (j in 2:n) { g <- rep(0, length(f) + j - 1); for (i in 0:(j - 1)) g[i + seq_along(f)] <- g[i + seq_along(f)] + f; f <- g / j }
  s <- 2 * (seq_along(f) - 1) - n * (n - 1) / 2; sum(f[s >= S]) }   # exact null tail of S, no ties
emit("TREND-7", c("P(S>=4) n=4", "P(S>=6) n=5", "P(S>=21) n=10"), c(kex(4, 4), kex(6, 5), kex(21, 10)))

## ------------------------------------------------------------------ 10 control charts
cl3 <- function(c, s) c(c, c - 3 * s, c + 3 * s); q3 <- c("centre", "LCL", "UCL")
waf <- c(16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13); cb <- mean(waf)
emit("CHART-1", q3, cl3(cb, sqrt(cb)))
oj <- c(12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6); pb <- sum(oj) / (50 * 30)
emit("CHART-2", q3, cl3(pb, sqrt(pb * (1 - pb) / 50)))
o2 <- oj[-c(15, 23)]; p2 <- sum(o2) / (50 * 28); emit("CHART-2", paste("revised (drop 15 and 23)", q3), cl3(p2, sqrt(p2 * (1 - p2) / 50)))
pcb <- c(21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15)
emit("CHART-3", q3, cl3(mean(pcb), sqrt(mean(pcb))))
emit("CHART-3", paste("revised (drop 6 and 20)", q3), cl3(mean(pcb[-c(6, 20)]), sqrt(mean(pcb[-c(6, 20)]))))
pc <- c(10, 12, 8, 14, 10, 16, 11, 7, 10, 15, 9, 5, 7, 11, 12, 6, 8, 10, 7, 5); ub <- sum(pc) / 100
emit("CHART-4", q3, cl3(ub, sqrt(ub / 5)))
zi <- (oj / 50 - pb) / sqrt(pb * (1 - pb) / 50); sz <- mean(abs(diff(zi))) / 1.128
emit("CHART-5", c("sigma_z (MR/1.128) on CHART-2 data", "p-prime LCL", "p-prime UCL"), c(sz, pb - 3 * sz * sqrt(pb * (1 - pb) / 50), pb + 3 * sz * sqrt(pb * (1 - pb) / 50)))

## ------------------------------------------------------------------ 11 scan statistics
xl <- function(a, b) ifelse(a == 0, 0, a * log(a / b))
llr_pois <- function(c, E, C) if (c / E <= (C - c) / (C - E)) 0 else xl(c, E) + xl(C - c, C - E)
llr_bern <- function(c, n, C, N) { if (c / n <= (C - c) / (N - n)) return(0)
  L <- function(x, m) xl(x, m) + xl(m - x, m); L(c, n) + L(C - c, N - n) - L(C, N) }
e <- c(293 * 11034 / 22071, 293 * 11037 / 22071)
G2 <- 2 * (xl(189, e[1]) + xl(104, e[2]) + xl(11034 - 189, 11034 - e[1]) + xl(11037 - 104, 11037 - e[2]))
emit("SCAN-1", c("G2 of 2x2", "Bernoulli LLR (=G2/2)", "Poisson LLR c=189 E=146.48 C=293"),
     c(G2, llr_bern(189, 11034, 293, 22071), llr_pois(189, e[1], 293)))
emit("SCAN-2", "Mendel G2", 2 * (xl(6022, 6017.25) + xl(2001, 2005.75)))
emit("SCAN-2", c("Poisson LLR c=10 E=4 C=50", "Poisson LLR c=3 E=0.5 C=3", "Poisson LLR c=4 E=10 C=50", "Bernoulli LLR c=8 n=20 C=20 N=200"),
     c(llr_pois(10, 4, 50), llr_pois(3, .5, 3), llr_pois(4, 10, 50), llr_bern(8, 20, 20, 200)))
gmx <- c(2.1, 3.4, 2.8, 4.9, 3.3, 2.6, 3.9, 5.2, 3.0, 4.1); sc <- sd(gmx) * sqrt(6) / pi; lo <- mean(gmx) + digamma(1) * sc
emit("SCAN-6", c("Gumbel scale (moments; sd with n-1)", "Gumbel location", "p(max>=7)"), c(sc, lo, 1 - exp(-exp(-(7 - lo) / sc))))

## ------------------------------------------------------------------ 12 stock
emit("STOCK-1", paste0("Poisson(10) g(", 4:17, ")"), dpois(4:17, 10)); emit("STOCK-1", paste0("Poisson(10) G(", 4:17, ")"), ppois(4:17, 10))
emit("STOCK-1", c("critical ratio 25/(25+15)", "qpois(critical ratio; 10)", "least r with G>=0.90", "backorders E(X-15)+", "on-hand for base stock 15"),
     c(25 / 40, qpois(.625, 10), qpois(.9, 10), sum(dpois(16:200, 10) * (1:185)), 15 - 10 + sum(dpois(16:200, 10) * (1:185))))
emit("STOCK-2", c("critical ratio 0.50/0.65", "z", "order quantity normal(11.73; 4.74)"), c(.5 / .65, qnorm(.5 / .65), 11.73 + 4.74 * qnorm(.5 / .65)))
Lz <- function(z) dnorm(z) - z * pnorm(-z)
z2 <- uniroot(function(z) Lz(z) - .08, c(0, 3), tol = 1e-14)$root
emit("STOCK-3", c("Type 1 98%: z", "L(z)", "Type 2 z"), c(qnorm(.98), .08, z2))
emit("STOCK-4", paste0("unit normal loss L(", c("0", "0.5", "1", "1.5", "2"), ")"), Lz(c(0, .5, 1, 1.5, 2)))
eb <- function(s, m) m - s + sum((s - 0:max(0, s - 1)) * dpois(0:max(0, s - 1), m)) * (s > 0)
emit("STOCK-5", c(paste0("EBO(", 0:3, ") mean 1"), paste0("EBO(", 0:6, ") mean 4")), c(sapply(0:3, eb, m = 1), sapply(0:6, eb, m = 4)))
yy <- c(0, 0, 10, 0, 0, 20, 0, 0, 0, 15); 
cr <- function(y, a) { i <- which(y > 0); q <- diff(c(0, i)); z <- y[i][1]; p <- q[1]; if (length(i) > 1) for (j in 2:length(i)) { z <- z + a * (y[i][j] - z); p <- p + a * (q[j] - p) }; c(z, p, z / p, (1 - a / 2) * z / p) }
tsb <- function(y, a, b, z, p) { for (v in y) { if (v > 0) { p <- p + b * (1 - p); z <- z + a * (v - z) } else p <- p - b * p }; c(z, p, z * p) }
emit("CROSTON-1", c("size z", "interval p", "Croston z/p", "SBA (1-a/2)z/p"), cr(yy, .1))
emit("CROSTON-1", paste("TSB a=b=0.1 start z=10 p=1/3", c("size", "probability", "forecast")), tsb(yy, .1, .1, 10, 1 / 3))

## ------------------------------------------------------------------ 13 random-effects pooling
# Inverse variance, DerSimonian-Laird and Mantel-Haenszel from their formulas.
bcg <- rbind(c(4, 119, 11, 128), c(6, 300, 29, 274), c(3, 228, 11, 209), c(62, 13536, 248, 12619), c(33, 5036, 47, 5761),
             c(180, 1361, 372, 1079), c(8, 2537, 10, 619), c(505, 87886, 499, 87892), c(29, 7470, 45, 7232), c(17, 1699, 65, 1600),
             c(186, 50448, 141, 27197), c(5, 2493, 3, 2338), c(27, 16886, 29, 17825))
pool <- function(y, v, t2 = 0) {
  w <- 1 / (v + t2); m <- sum(w * y) / sum(w); se <- sqrt(1 / sum(w))
  list(b = m, se = se, lo = m - qnorm(.975) * se, hi = m + qnorm(.975) * se, z = m / se, Q = sum(w * (y - m)^2)) }
dl <- function(y, v) { f <- pool(y, v); w <- 1 / v; k <- length(y)
  t2 <- max(0, (f$Q - (k - 1)) / (sum(w) - sum(w^2) / sum(w))); r <- pool(y, v, t2)
  c(r, list(t2 = t2, Q0 = f$Q, I2 = max(0, 100 * (f$Q - (k - 1)) / f$Q),
            hk = r$se * sqrt(max(1, r$Q / (k - 1))) * qt(.975, k - 1))) }
predict_limits <- function(y, v) { k <- length(y); u <- (1:50 - .5) / 50   # levels of the variance between
  t2 <- sapply(qchisq(1 - u, k - 1), function(q) if (pool(y, v)$Q <= q) 0 else
    exp(uniroot(function(e) pool(y, v, exp(e))$Q - q, c(-40, 20), tol = 1e-13)$root))
  m <- sapply(t2, function(t) pool(y, v, t)$b)
  s <- sapply(t2, function(t) { p <- pool(y, v, t); sqrt(t + p$se^2 * max(1, p$Q / (k - 1))) })
  sapply(c(.025, .975), function(a) uniroot(function(x) mean(pt((x - m) / s, k - 1)) - a, c(-20, 20), tol = 1e-13)$root) }
a <- bcg[, 1]; b <- bcg[, 2]; c <- bcg[, 3]; d <- bcg[, 4]; n1 <- a + b; n2 <- c + d
yR <- log(a / n1 / (c / n2)); vR <- 1 / a - 1 / n1 + 1 / c - 1 / n2
yO <- log(a * d / (b * c)); vO <- 1 / a + 1 / b + 1 / c + 1 / d
rm(c)
FE <- pool(yR, vR); DL <- dl(yR, vR); DO <- dl(yO, vO); mq <- c("estimate", "lower", "upper")
emit("META-1", paste("log RR fixed", mq), c(FE$b, FE$lo, FE$hi))
emit("META-1", c("log RR fixed z", "Q", "fixed RR", "fixed RR lower", "fixed RR upper"), c(FE$z, FE$Q, exp(c(FE$b, FE$lo, FE$hi))))
emit("META-1", paste("log RR DL", mq), c(DL$b, DL$lo, DL$hi))
emit("META-1", c("log RR DL se", "DL tau2", "DL I2 percent"), c(DL$se, DL$t2, DL$I2))
emit("META-1", c("log RR DL prediction lower", "log RR DL prediction upper", "log RR DL Knapp lower", "log RR DL Knapp upper"),
     c(predict_limits(yR, vR), DL$b - DL$hk, DL$b + DL$hk))
emit("META-2", paste("log OR DL", mq), c(DO$b, DO$lo, DO$hi)); emit("META-2", c("log OR DL se", "log OR DL tau2", "log OR Q"), c(DO$se, DO$t2, DO$Q0))
mhr <- function(t) { a <- t[, 1]; c1 <- t[, 3]; n1 <- t[, 1] + t[, 2]; n2 <- t[, 3] + t[, 4]; N <- n1 + n2
  R <- sum(a * n2 / N); S <- sum(c1 * n1 / N); P <- sum((n1 * n2 * (a + c1) / N - a * c1) / N)
  log(R / S) + c(0, -1, 1) * qnorm(.975) * sqrt(P / (R * S)) }
emit("META-3", paste("MH log RR", mq), mhr(bcg))
mo <- mantelhaen.test(array(t(bcg[, c(1, 3, 2, 4)]), c(2, 2, 13)))
emit("META-3", paste("MH log OR", mq), log(c(mo$estimate, mo$conf.int)))
px <- c(16, 10, 4, 43, 10, 25, 13, 12, 22, 4, 5, 18, 58, 6); pn <- c(17, 12, 8, 58, 10, 42, 14, 12, 41, 5, 6, 23, 68, 10)
zero <- px == 0 | px == pn; ax <- px + .5 * zero; mx <- pn - px + .5 * zero
pd <- dl(log(ax / mx), 1 / ax + 1 / mx)
emit("META-4", c("logit DL estimate", "logit DL se", "tau2", "Q", "back-transformed", "back lower", "back upper"),
     c(pd$b, pd$se, pd$t2, pd$Q0, plogis(c(pd$b, pd$lo, pd$hi))))
h <- rbind(c(2, 39, 1, 43), c(4, 44, 4, 44), c(6, 107, 4, 110), c(7, 103, 5, 100), c(7, 110, 3, 106), c(11, 154, 4, 146))
p1 <- h[, 1] / h[, 2]; p2 <- h[, 3] / h[, 4]; hd <- dl(p1 - p2, p1 * (1 - p1) / h[, 2] + p2 * (1 - p2) / h[, 4])
emit("META-5", c("risk difference DL", "se", "z", "lower", "upper", "tau2", "Q"), c(hd$b, hd$se, hd$z, hd$lo, hd$hi, hd$t2, hd$Q0))

## ------------------------------------------------------------------ 14 check digits and robust outliers
wk <- c(1, 1, 2, 2, 4, 6, 9); md <- median(abs(wk - median(wk)))
emit("MAD-1", c("median", "MAD (raw)", "modified z of 9", "modified z of 6"), c(median(wk), md, .6745 * 7 / md, .6745 * 4 / md))
emit("MAD-1", c("mad(1:9)", "mad(c(1:8 100))"), c(mad(1:9), mad(c(1:8, 100))))
ros <- c(-.25, .68, .94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99,
         2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30,
         4.64, 5.34, 5.42, 6.01); stopifnot(length(ros) == 54)
mz <- .6745 * (ros - median(ros)) / median(abs(ros - median(ros)))
emit("MAD-2", c("median", "MAD raw", "modified z of 6.01", "modified z of 5.42", "modified z of 5.34", "modified z of 4.64", "count |M|>3.5"),
     c(median(ros), median(abs(ros - median(ros))), mz[54], mz[53], mz[52], mz[51], sum(abs(mz) > 3.5)))
ih <- c(2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3)
mi <- .6745 * (ih - median(ih)) / median(abs(ih - median(ih)))
emit("MAD-3", c("median", "MAD raw", "modified z of 8.2", "modified z of 8.3"), c(median(ih), median(abs(ih - median(ih))), mi[9], mi[10]))

## ------------------------------------------------------------------ 15 small Poisson tails
emit("TAIL-1", paste0("P(X>=2) mean ", c("0.1", "0.2", "0.5", "1", "2")), ppois(1, c(.1, .2, .5, 1, 2), lower.tail = FALSE))
emit("TAIL-1", paste0("P(X>=3) mean ", c("0.5", "1", "2")), ppois(2, c(.5, 1, 2), lower.tail = FALSE))
hk <- c(109, 65, 22, 3, 1); hm <- sum(0:4 * hk) / sum(hk)
emit("TAIL-2", c("mean", paste0("expected x=", 0:4)), c(hm, 200 * dpois(0:4, hm)))

## ------------------------------------------------------------------ 16 further values, R-only
i <- 1:120                                   # lifetimes by formula, with ties, three groups and four strata
mk120 <- data.frame(t = 1 + (37 * i^2 + 11 * i) %% 97, d = as.integer((7 * i) %% 10 < 6), g = i %% 3, s = (i %/% 5) %% 4)
mk120$t[mk120$g == 2] <- ceiling(mk120$t[mk120$g == 2] / 2)
l3 <- survdiff(Surv(t, d) ~ g, mk120); ls <- survdiff(Surv(t, d) ~ g + strata(s), mk120)
l2 <- survdiff(Surv(t, d) ~ g + strata(s), subset(mk120, g != 0))
emit("LR-1", c("three groups chi2", "three groups p", "expected 0", "expected 2"), c(l3$chisq, pchisq(l3$chisq, 2, lower.tail = FALSE), l3$exp[c(1, 3)]))
emit("LR-1", c("three groups in strata chi2", "two groups in strata chi2", "two groups in strata p"), c(ls$chisq, l2$chisq, pchisq(l2$chisq, 1, lower.tail = FALSE)))
f3 <- survfit(Surv(t, d) ~ 1, mk120, conf.type = "log-log"); fs <- summary(f3, times = c(10, 30, 60))
emit("LR-1", paste0("S(", c(10, 30, 60), ")"), fs$surv); emit("LR-1", paste0("lower(", c(10, 30, 60), ")"), fs$lower)
emit("LR-1", paste0("upper(", c(10, 30, 60), ")"), fs$upper)
qm <- quantile(f3, .5); emit("LR-1", c("median", "median lower", "median upper"), c(qm$quantile, qm$lower, qm$upper))
rm3 <- summary(f3, rmean = 60)$table; emit("LR-1", c("restricted mean to 60", "se restricted mean to 60"), rm3[c("rmean", "se(rmean)")])
ev <- sort(unique(fr$t[fr$d == 1]))          # the odds ratio over event times, as 2x2 strata
tb <- array(unlist(lapply(ev, function(s) { n1 <- sum(fr$t >= s & fr$g == "placebo"); n2 <- sum(fr$t >= s & fr$g == "6-MP")
  d1 <- sum(fr$t == s & fr$d == 1 & fr$g == "placebo"); d2 <- sum(fr$t == s & fr$d == 1 & fr$g == "6-MP"); c(d1, d2, n1 - d1, n2 - d2) })), c(2, 2, length(ev)))
keep <- apply(tb, 3, sum) > 1
mt1 <- mantelhaen.test(tb[, , keep], correct = FALSE)
emit("LR-2", c("placebo over 6-MP hazard ratio", "hazard ratio lower", "hazard ratio upper"), c(mt1$estimate, mt1$conf.int))
zou <- function(m, s2, n, conf = .95) { a <- (1 - conf) / 2; h <- qt(1 - a, n - 1) * sqrt(s2 / n); y <- m + s2 / 2
  exp(c(y, y - sqrt(h^2 + (s2 / 2 * (1 - (n - 1) / qchisq(1 - a, n - 1)))^2), y + sqrt(h^2 + (s2 / 2 * ((n - 1) / qchisq(a, n - 1) - 1))^2))) }
emit("LOGN-5", paste("46 repair times Zou", elu), zou(lm, s^2, nn))
emit("LOGN-5", paste("n=5 3.4 0.36 Zou", elu), zou(3.4, .36, 5))
emit("NB-1", c("size 2.5 mean 7 P(X=4)", "size 2.5 mean 7 P(X<=12)", "size 2.5 mean 7 P(X>=40)", "size 1e6 mean 1e6 P(X<=1001000)"),
     c(dnbinom(4, 2.5, mu = 7), pnbinom(12, 2.5, mu = 7), pnbinom(39, 2.5, mu = 7, lower.tail = FALSE), pnbinom(1001000, 1e6, mu = 1e6)))
emit("NB-1", c("size 2.5 mean 7 E(X-10)+", "size 2.5 mean 7 E(X-3)+"),
     c(sum(dnbinom(11:2000, 2.5, mu = 7) * (1:1990)), sum(dnbinom(4:2000, 2.5, mu = 7) * (1:1997))))
gx <- c(3, 0, 12, 5, 1, 7, 0, 2, 30, 4); gt <- c(10, 4, 22, 11, 6, 9, 3, 8, 25, 14)
gl <- function(l) -sum(dnbinom(gx, size = exp(l[1]), mu = exp(l[2]) * gt, log = TRUE))
go <- optim(c(0, -1), gl, method = "BFGS", control = list(reltol = 1e-16)); go <- optim(go$par, gl, control = list(reltol = 1e-16, maxit = 5000))
go <- optim(go$par, gl, method = "BFGS", control = list(reltol = 1e-16))
emit("EB-6", c("gamma shape", "gamma mean"), exp(go$par))
for (z in list(c(3, 1e6, 2e-6), c(3e6, 1e7, .3), c(60, 1e3, .03))) {
  emit("TAIL-3", sprintf("P(X>=%g) n=%g p=%g", z[1], z[2], z[3]), pbinom(z[1] - 1, z[2], z[3], lower.tail = FALSE)) }
emit("TAIL-3", c("Poisson P(X>=1000) mean 500", "Poisson P(X>=10005000) mean 1e7"), c(ppois(999, 500, lower.tail = FALSE), ppois(10004999, 1e7, lower.tail = FALSE)))
emit("CP-3", paste("3000000/10000000", lu), clopper(3e6, 1e7)); emit("CP-3", paste("7/10000000", lu), clopper(7, 1e7))
emit("POIS-3", paste("c=10000000", lu), garwood(1e7))
emit("FISHER-4", "[30 970; 250 8750] two-sided p", fisher.test(matrix(c(30, 250, 970, 8750), 2))$p.value)
emit("FISHER-4", "[3000 97000; 25000 975000] one-sided greater p", phyper(2999, 1e5, 1e6, 28000, lower.tail = FALSE))
perm <- function(v) if (length(v) < 2) list(v) else do.call(c, lapply(seq_along(v), function(i) lapply(perm(v[-i]), function(r) c(v[i], r))))
tied <- c(1, 1, 2, 3, 3, 3, 4); Sof <- function(x) { n <- length(x); sum(sapply(1:(n - 1), function(i) sum(sign(x[(i + 1):n] - x[i])))) }
Sall <- sapply(perm(tied), Sof)              # every order of seven values with two groups of ties
emit("MK-1", paste0("tied P(S>=", c(5, 9, 15), ")"), sapply(c(5, 9, 15), function(s) mean(Sall >= s)))
emit("MK-1", c("P(S>=53) n=14", "P(S>=55) n=14"), c(kex(53, 14), kex(55, 14)))
