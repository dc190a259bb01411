# Reference values of survival, incidence and their tests, from R.
# Run from the project root:  Rscript tests/reference/marginal/reference.R
# Reads litters.csv (invented); writes expected.csv and versions.txt beside itself.
suppressPackageStartupMessages({library(survival); library(cmprsk)})
here <- "tests/reference/marginal"
births <- read.csv(file.path(here, "litters.csv"))
births$row <- seq_len(nrow(births))
births$died <- as.integer(births$outcome > 0)
births$start <- ifelse(births$entry_h == 0, -1, births$entry_h)   # watched from birth: at risk at age 0 too
births$state <- factor(births$outcome)

kept <- list()
keep <- function(quantity, group, cause, age_h, value)
  kept[[length(kept) + 1]] <<- data.frame(quantity, group, cause, age_h, value)

curve <- function(name, fit, group) {
  at <- summary(fit, censored = TRUE)
  keep(paste0(name, "_share"), group, 0, at$time, at$surv)
  keep(paste0(name, "_se"), group, 0, at$time, at$std.err)
  keep(paste0(name, "_low"), group, 0, at$time, at$lower)
  keep(paste0(name, "_high"), group, 0, at$time, at$upper)
}

# survfit's own clustered errors of a multi-state curve leave the clusters out (survival 3.5-3), its influence values
# do not: they are summed by litter here. influence.pstate has one column per state, the first is alive.
incidence <- function(name, fit, some, weight, group) {
  moved <- fit$influence.pstate
  at <- if (dim(moved)[2] > length(fit$time)) -1 else TRUE        # drop the state at the start, where it is kept
  moved <- moved[, at, , drop = FALSE]
  for (cause in seq_len(ncol(fit$pstate) - 1)) {
    summed <- rowsum(moved[, , cause + 1] * weight, some$litter)
    keep(paste0(name, "_share"), group, cause, fit$time, fit$pstate[, cause + 1])
    keep(paste0(name, "_se"), group, cause, fit$time, sqrt(colSums(summed^2)))
  }
}

for (g in 0:2) {
  some <- births[births$group == g, ]
  curve("km", survfit(Surv(age_h, died) ~ 1, some, conf.type = "log-log"), g)
  curve("km_clustered", survfit(Surv(age_h, died) ~ 1, some, cluster = litter, conf.type = "log-log"), g)
  curve("km_entry", survfit(Surv(start, age_h, died) ~ 1, some, cluster = litter, conf.type = "log-log"), g)
  curve("km_weight", survfit(Surv(age_h, died) ~ 1, some, cluster = litter, weights = weight,
                             conf.type = "log-log"), g)
  one <- rep(1, nrow(some))
  incidence("aj_clustered", survfit(Surv(age_h, state) ~ 1, some, influence = TRUE), some, one, g)
  incidence("aj_entry", survfit(Surv(start, age_h, state) ~ 1, some, id = row, influence = TRUE), some, one, g)
  incidence("aj_weight", survfit(Surv(age_h, state) ~ 1, some, weights = weight, influence = TRUE), some,
            some$weight, g)
  area <- survfit(Surv(age_h, died) ~ 1, some)
  mean_h <- summary(area, rmean = 100)$table
  keep("mean", g, 0, 100, mean_h[["rmean"]])
  keep("mean_se", g, 0, 100, mean_h[["se(rmean)"]])
  moved <- residuals(area, times = 100, type = "auc")
  keep("mean_clustered_se", g, 0, 100, sqrt(sum(rowsum(moved, some$litter)^2)))
}

pair <- births[births$group < 2, ]
moved <- numeric(nrow(pair))
for (g in 0:1) moved[pair$group == g] <- (2 * g - 1) *
  residuals(survfit(Surv(age_h, died) ~ 1, pair[pair$group == g, ]), times = 100, type = "auc")
keep("mean_difference_se", 1, 0, 100, sqrt(sum(rowsum(moved, pair$litter)^2)))

robust <- function(formula, ...) do.call(coxph, list(formula, data = births, cluster = births$litter, ties = "breslow",
                                                      init = c(0, 0), iter.max = 0, ...))$rscore
keep("logrank", -1, 0, NA, survdiff(Surv(age_h, died) ~ group, births)$chisq)
keep("logrank_clustered", -1, 0, NA, robust(Surv(age_h, died) ~ factor(group)))
keep("logrank_entry", -1, 0, NA, robust(Surv(start, age_h, died) ~ factor(group)))
keep("logrank_weight", -1, 0, NA, robust(Surv(age_h, died) ~ factor(group), weights = births$weight))

lost <- cuminc(births$age_h, births$outcome, births$group)
keep("gray", -1, 1:3, NA, lost$Tests[, "stat"])
ages <- sort(unique(births$age_h))
at <- timepoints(lost, ages)
for (g in 0:2) for (cause in 1:3) {
  row <- paste(g, cause)
  keep("aj_share", g, cause, ages, at$est[row, ])
  keep("aj_se", g, cause, ages, sqrt(at$var[row, ]))
}

# mgus2, Mayo Clinic, in R's survival: progression (1) or death (2), months
months <- with(mgus2, ifelse(pstat == 0, futime, ptime))
event <- with(mgus2, ifelse(pstat == 0, 2 * death, 1))
lost <- cuminc(months, event, mgus2$sex)
keep("mgus2_gray", -1, 1:2, NA, lost$Tests[, "stat"])
keep("mgus2_logrank", -1, 0, NA, survdiff(Surv(futime, death) ~ sex, mgus2)$chisq)
all <- timepoints(cuminc(months, event), c(12, 60, 120, 240))
for (cause in 1:2) {
  keep("mgus2_aj_share", -1, cause, c(12, 60, 120, 240), all$est[cause, ])
  keep("mgus2_aj_se", -1, cause, c(12, 60, 120, 240), sqrt(all$var[cause, ]))
}

expected <- do.call(rbind, kept)
expected <- expected[is.finite(expected$value), ]
expected$value <- sprintf("%.17g", expected$value)
write.csv(expected, file.path(here, "expected.csv"), row.names = FALSE, quote = FALSE, na = "")
writeLines(c(R.version.string, paste("survival", packageVersion("survival")), paste("cmprsk", packageVersion("cmprsk"))),
           file.path(here, "versions.txt"))
