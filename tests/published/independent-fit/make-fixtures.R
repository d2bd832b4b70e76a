# Independent fits of a broken line and of a robust line, by R packages of Debian 12:
# segmented (Muggeo 2003; 2008, R News 8/1) and robustbase::lmrob (MM estimator, Yohai 1987).
# Run once, offline: Rscript make-fixtures.R > fixtures.json
suppressMessages({library(segmented); library(robustbase)})
set.seed(20250101)
profile <- function(x, breaks, kinks, slope) {
  y <- slope * x
  for (i in seq_along(breaks)) y <- y + kinks[i] * pmax(0, x - breaks[i])
  y
}
num <- function(v) paste0("[", paste(sprintf("%.10g", v), collapse = ","), "]")
one <- function(name, x, breaks, kinks, slope, sd) {
  y <- profile(x, breaks, kinks, slope) + rnorm(length(x), 0, sd)
  fit <- segmented(lm(y ~ x), seg.Z = ~x, psi = breaks, control = seg.control(n.boot = 50, it.max = 100))
  b <- summary(fit)
  s <- slope(fit)$x
  sprintf('{"name":"%s","x":%s,"y":%s,"breaks":%s,"breakSe":%s,"slopes":%s,"slopeSe":%s,"rss":%.12g}',
    name, num(x), num(y), num(fit$psi[, 2]), num(fit$psi[, 3]), num(s[, 1]), num(s[, 2]), sum(residuals(fit)^2))
}
kinks <- c(
  one("one kink, 1 m apart", seq(0, 18, 1), 7.3, -0.05, 0.02, 0.0016),
  one("two kinks, 0.6 m apart", seq(0, 18, 0.6), c(6.2, 10.1), c(-0.06, 0.04), 0.03, 0.0016),
  one("three kinks, 0.5 m apart", seq(0, 18, 0.5), c(5.1, 8.0, 11.2), c(0.04, -0.09, 0.05), 0, 0.001))
robust <- function(name, x, y) {
  fit <- lmrob(y ~ x)
  sprintf('{"name":"%s","x":%s,"y":%s,"coefficients":%s,"se":%s,"scale":%.10g,"weights":%s}',
    name, num(x), num(y), num(coef(fit)), num(sqrt(diag(vcov(fit)))), fit$scale, num(fit$rweights))
}
x <- seq(0, 18, 0.75)
y1 <- 0.05 + 0.002 * x + rnorm(length(x), 0, 0.0016)
y2 <- y1; y2[8] <- y2[8] + 0.0254; y2[15] <- y2[15] - 0.3048
lines <- c(robust("clean", x, y1), robust("an inch and a foot misread", x, y2))
cat(sprintf('{"made":"R %s.%s, segmented %s, robustbase %s","kinks":[\n%s\n],"lines":[\n%s\n]}\n',
  R.version$major, R.version$minor, packageVersion("segmented"), packageVersion("robustbase"),
  paste(kinks, collapse = ",\n"), paste(lines, collapse = ",\n")))
