# Reference values for deaths between two checks: R's survival package (survfit, type interval2).
# Regenerate, from the top of the project:  Rscript tests/reference/turnbull/turnbull.R
# R's iteration stops before the maximum, so these are a looser check (its log likelihood must not be higher).
suppressPackageStartupMessages(library(survival))
here <- "tests/reference/turnbull"
options(digits = 17)
set.seed(19760312)
n <- 400
time <- rweibull(n, 0.6, 120)
gap <- sample(c(2, 4, 6, 12), n, replace = TRUE)
low <- floor(time / gap) * gap
high <- low + gap
lost <- low >= 240
low[lost] <- 240; high[lost] <- Inf
checks <- data.frame(low_h = low, high_h = high)
write.csv(checks, file.path(here, "checks.csv"), row.names = FALSE, quote = FALSE)
# (low, high] as R sees it: a hair above low, for R's intervals are closed
right <- ifelse(is.finite(high), high, NA)
fit <- survfit(Surv(low + 1e-4, right, type = "interval2") ~ 1)
at <- c(2, 4, 6, 8, 12, 24, 36, 48, 72, 96, 120, 144, 168, 192, 216, 240)
answers <- data.frame(age_h = at, share = summary(fit, times = at, extend = TRUE)$surv)
write.csv(answers, file.path(here, "answers.csv"), row.names = FALSE, quote = FALSE)
writeLines(c(R.version.string, paste("survival", packageVersion("survival"))), file.path(here, "versions.txt"))
