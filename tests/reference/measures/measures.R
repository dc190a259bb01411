# Golden values for proportions, contrasts, standardisation, planning and screening.
# Run through regenerate.py in this folder, which hands over the data sets and a place for the answers.
suppressPackageStartupMessages({library(epiR); library(geepack)})
args <- commandArgs(trailingOnly = TRUE)
read <- function(name) read.csv(file.path(args[1], paste0(name, ".csv")))
out <- data.frame(quantity = character(), value = numeric(), source = character())
say <- function(quantity, value, source) {
  value <- as.numeric(unlist(value)); n <- length(value)
  names <- if (n == 1) quantity else paste0(quantity, "[", seq_len(n) - 1, "]")
  out <<- rbind(out, data.frame(quantity = names, value = value, source = source))
}
base <- paste0("R ", getRversion(), " stats")
epi <- paste0("epiR ", packageVersion("epiR"))
gee <- paste0("geepack ", packageVersion("geepack"))

# One proportion
for (pair in list(c(81, 263), c(4, 200), c(0, 30), c(30, 30), c(1, 7))) {
  name <- paste0(pair[1], "/", pair[2])
  say(paste("wilson", name), suppressWarnings(prop.test(pair[1], pair[2], correct = FALSE))$conf.int, paste(base, "prop.test"))
  say(paste("clopper-pearson", name), binom.test(pair[1], pair[2])$conf.int, paste(base, "binom.test"))
}

# Two groups
cats <- matrix(c(13, 2163, 5, 3349), 2, byrow = TRUE)
answer <- epi.2by2(cats, method = "cohort.count")$massoc.detail
say("cats risk ratio", answer$RR.strata.wald, paste(epi, "epi.2by2"))
say("cats odds ratio", answer$OR.strata.wald, paste(epi, "epi.2by2"))
say("cats chi-square", answer$chi2.strata.uncor$test.statistic, paste(epi, "epi.2by2"))
lambs <- matrix(c(27, 32, 13, 78), 2, byrow = TRUE)
say("lambs chi-square", chisq.test(lambs, correct = FALSE)$statistic, paste(base, "chisq.test"))
fisher <- fisher.test(lambs)
say("lambs fisher p", fisher$p.value, paste(base, "fisher.test"))
few <- fisher.test(matrix(c(3, 5, 2, 18), 2, byrow = TRUE))
say("few fisher p", few$p.value, paste(base, "fisher.test"))

# Strata: low birth weight and smoking by race (MASS birthwt)
bw <- read("birthwt")
cube <- table(factor(bw$smoke, 1:0), factor(bw$low, 1:0), bw$race)
mh <- mantelhaen.test(cube, correct = FALSE)
say("birthwt mantel-haenszel odds ratio", c(mh$estimate, mh$conf.int), paste(base, "mantelhaen.test"))
say("birthwt mantel-haenszel chi-square", mh$statistic, paste(base, "mantelhaen.test"))
cohort <- epi.2by2(cube, method = "cohort.count")$massoc.detail
say("birthwt mantel-haenszel risk ratio", cohort$RR.mh.wald, paste(epi, "epi.2by2"))
say("birthwt mantel-haenszel risk difference", cohort$ARisk.mh.green / 100, paste(epi, "epi.2by2"))
say("birthwt breslow-day without tarone", cohort$bOR.homog$test.statistic, paste(epi, "epi.2by2"))
odds <- apply(cube, 3, function(t) c(log(t[1, 1] * t[2, 2] / t[1, 2] / t[2, 1]), 1 / sum(1 / t)))
say("birthwt woolf odds ratios", sum(odds[2, ] * (odds[1, ] - weighted.mean(odds[1, ], odds[2, ]))^2),
    paste(base, "Woolf 1955 by formula (epi.2by2 adds a half to each cell)"))
say("birthwt woolf risk ratios", cohort$wRR.homog$test.statistic, paste(epi, "epi.2by2"))

# Standardisation
direct <- function(x, n, standard) {
  strata <- paste0("s", seq_along(x))
  epi.directadj(obs = matrix(x, 1, dimnames = list("", strata)), tar = matrix(n, 1, dimnames = list("", strata)),
                std = matrix(standard, 1, dimnames = list("", strata)), units = 1)$adj.strata[, c("est", "lower", "upper")]
}
say("dogs Edinburgh", direct(c(15, 46), c(48, 212), c(250, 250)), paste(epi, "epi.directadj"))
say("dogs Glasgow", direct(c(53, 16), c(180, 71), c(250, 250)), paste(epi, "epi.directadj"))
say("exact poisson 58/52", poisson.test(58, 52)$conf.int, paste(base, "poisson.test"))
say("exact poisson 130/140", poisson.test(130, 140)$conf.int, paste(base, "poisson.test"))
say("exact poisson 0/3", poisson.test(0, 3)$conf.int, paste(base, "poisson.test"))

# Trend, multiplicity, planning
say("trend", prop.trend.test(c(15, 10, 30, 42), c(60, 50, 90, 110))$statistic, paste(base, "prop.trend.test"))
say("trend scored", prop.trend.test(c(15, 10, 30, 42), c(60, 50, 90, 110), c(0, 1, 2, 5))$statistic,
    paste(base, "prop.trend.test"))
say("benjamini-hochberg", p.adjust(c(0.01, 0.04, 0.03, 0.2, 0.9), "BH"), paste(base, "p.adjust"))
say("newborns needed 15 to 10", power.prop.test(p1 = 0.15, p2 = 0.10, power = 0.8, tol = 1e-12)$n, paste(base, "power.prop.test"))
say("newborns needed 20 to 14", power.prop.test(p1 = 0.20, p2 = 0.14, power = 0.9, tol = 1e-12)$n, paste(base, "power.prop.test"))

# Screening
tests <- epi.tests(matrix(c(28, 19, 12, 141), 2, byrow = TRUE), method = "wilson")$detail
for (name in c("se", "sp", "pv.pos", "pv.neg", "lr.pos", "lr.neg"))
  say(paste("screening", name), tests[tests$statistic == name, c("est", "lower", "upper")], paste(epi, "epi.tests"))

# Litters and herds
herds <- read("dja")
icc <- function(y, cluster) {
  s <- summary(aov(y ~ factor(cluster)))[[1]][["Mean Sq"]]; m <- tabulate(factor(cluster)); k <- length(m)
  n0 <- (sum(m) - sum(m^2) / sum(m)) / (k - 1)
  (s[1] - s[2]) / (s[1] + (n0 - 1) * s[2])
}
each <- herds[rep(seq_len(nrow(herds)), herds$n), ]
each$dead <- unlist(mapply(function(y, n) rep(c(1, 0), c(y, n - y)), herds$y, herds$n))
say("dja anova icc", icc(each$dead, each$herd), paste(base, "aov"))
adjusted <- sapply(split(herds, herds$group), function(h) {
  p <- sum(h$y) / sum(h$n); m <- nrow(h)
  d <- m / (m - 1) * sum((h$y - p * h$n)^2) / sum(h$n)^2 / (p * (1 - p) / sum(h$n))
  c(sum(h$y) / d, sum(h$n) / d, d)
})
say("dja design effects", adjusted[3, ], paste(base, "Rao & Scott 1992 by formula"))
say("dja rao-scott chi-square", prop.test(adjusted[1, ], adjusted[2, ], correct = FALSE)$statistic,
    paste(base, "prop.test on adjusted counts"))
cattle <- read("cbpp")
cows <- cattle[rep(seq_len(nrow(cattle)), cattle$size), ]
cows$ill <- unlist(mapply(function(y, n) rep(c(1, 0), c(y, n - y)), cattle$incidence, cattle$size))
cows <- cows[order(cows$herd), ]
fit <- summary(geeglm(ill ~ factor(period), binomial, cows, id = herd, corstr = "independence"))$coefficients
say("cbpp gee log odds", fit$Estimate, gee)
say("cbpp gee robust se", fit$Std.err, gee)
two <- subset(cows, period < 3); two$first <- as.numeric(two$period == 1)
ratio <- summary(geeglm(ill ~ first, binomial, two, id = herd, corstr = "independence"))$coefficients
say("cbpp period 1 v 2 log odds ratio", ratio$Estimate[2], gee)
say("cbpp period 1 v 2 robust se", ratio$Std.err[2], gee)
write.csv(transform(out, value = formatC(value, digits = 15, width = 1, format = "g")), args[2], row.names = FALSE, quote = TRUE)
