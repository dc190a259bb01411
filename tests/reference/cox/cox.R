# Reference values for Cox regression: R's survival package on public and simulated data.
# Regenerate, from the top of the project:  Rscript tests/reference/cox/cox.R
# Writes flock.csv, split.csv, rats_female.csv, six_mp.csv (data) and answers.csv, zph.csv, versions.txt (answers).
suppressPackageStartupMessages(library(survival))
here <- "tests/reference/cox"
options(digits = 17)
set.seed(20240311)
tight <- coxph.control(eps = 1e-14, iter.max = 50, toler.chol = 1e-15)

# A simulated flock: litters of 1-4, ages in whole hours (heavily tied, some at hour 0), a frailty by litter.
litter <- rep(1:260, sample(1:4, 260, replace = TRUE))
n <- length(litter)
frailty <- rnorm(260, sd = 0.8)[litter]
twin <- rbinom(n, 1, 0.6)
weight_kg <- round(rnorm(n, 4 - 0.4 * twin, 0.7), 1)
score <- sample(0:2, n, replace = TRUE)
eta <- 0.5 * twin - 0.6 * (weight_kg - 4) + 0.3 * score + frailty
age <- floor(rweibull(n, 0.45, 5000 * exp(-eta / 0.45)))
died <- as.integer(age < 336)
age <- pmin(age, 336)
left <- sample(24:336, n, replace = TRUE)
gone <- runif(n) < 0.2 & left < age
age[gone] <- left[gone]; died[gone] <- 0L
entry <- ifelse(runif(n) < 0.3, sample(1:30, n, replace = TRUE), 0)
entry[entry >= age] <- 0
case_weight <- round(runif(n, 0.3, 3), 2)
flock <- data.frame(litter, age_h = age, died, entry_h = entry, case_weight, twin, weight_kg, score)
write.csv(flock, file.path(here, "flock.csv"), row.names = FALSE, quote = FALSE)

# Ages move up by one hour, as R wants them above 0: only their order matters. Entry 0 is watched from birth.
flock$exit <- flock$age_h + 1
flock$start <- ifelse(flock$entry_h > 0, flock$entry_h + 1, 0)

# First feed as a covariate that changes: at risk at the hour of feeding as unfed.
fed <- floor(rexp(n, 1 / 6)); fed[fed >= flock$age_h | runif(n) < 0.1] <- NA
first <- data.frame(id = 1:n, start = 0, exit = ifelse(is.na(fed), flock$exit, fed + 1),
                    died = ifelse(is.na(fed), flock$died, 0L), fed = 0L)
later <- data.frame(id = (1:n), start = fed + 1, exit = flock$exit, died = flock$died, fed = 1L)[!is.na(fed), ]
split <- rbind(first, later)
split <- cbind(split, flock[split$id, c("litter", "twin", "weight_kg", "score", "case_weight")])
split <- split[order(split$id, split$start), ]
write.csv(data.frame(id = 1:n, fed_h = fed), file.path(here, "fed.csv"), row.names = FALSE, quote = FALSE, na = "")

rats_female <- subset(rats, sex == "f")
write.csv(rats_female, file.path(here, "rats_female.csv"), row.names = FALSE, quote = FALSE)
six_mp <- data.frame(
  weeks = c(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23,
            6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35),
  relapsed = c(rep(1, 21), 1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0),
  placebo = rep(1:0, each = 21))
write.csv(six_mp, file.path(here, "six_mp.csv"), row.names = FALSE, quote = FALSE)

answers <- NULL
note <- function(case, fit) {
  model <- if (is.null(fit$naive.var)) fit$var else fit$naive.var
  answers <<- rbind(answers, data.frame(
    case, covariate = names(coef(fit)), coefficient = unname(coef(fit)), se_model = sqrt(diag(model)),
    se = sqrt(diag(fit$var)), loglik = fit$loglik[2], n = fit$n, events = fit$nevent, row.names = NULL))
}
rhs <- ~ twin + weight_kg + score
note("plain", coxph(update(rhs, Surv(exit, died) ~ .), flock, control = tight))
note("clustered", coxph(update(rhs, Surv(exit, died) ~ .), flock, cluster = litter, control = tight))
note("weighted", coxph(update(rhs, Surv(exit, died) ~ .), flock, weights = case_weight, cluster = litter,
                       control = tight))
note("delayed entry", coxph(update(rhs, Surv(start, exit, died) ~ .), flock, cluster = litter, control = tight))
note("delayed entry, weighted", coxph(update(rhs, Surv(start, exit, died) ~ .), flock, weights = case_weight,
                                      cluster = litter, control = tight))
note("time-dependent", coxph(update(rhs, Surv(start, exit, died) ~ fed + .), split, cluster = litter, control = tight))
note("time-dependent, weighted", coxph(update(rhs, Surv(start, exit, died) ~ fed + .), split,
                                       weights = case_weight, cluster = litter, control = tight))
landmark <- subset(cbind(flock, fed = as.integer(!is.na(fed) & fed <= 6)), age_h > 6)
note("landmark 6 h", coxph(update(rhs, Surv(age_h - 6, died) ~ fed + .), landmark, cluster = litter, control = tight))
note("rats", coxph(Surv(time, status) ~ rx, rats_female, cluster = litter, control = tight))
note("six_mp", coxph(Surv(weeks, relapsed) ~ placebo, six_mp, control = tight))
write.csv(answers, file.path(here, "answers.csv"), row.names = FALSE, quote = c(1, 2))

zph <- NULL
for (transform in c("identity", "rank", "km", "log")) {
  fit <- coxph(update(rhs, Surv(exit, died) ~ .), flock, control = tight)
  table <- cox.zph(fit, transform = transform)$table
  zph <- rbind(zph, data.frame(transform, covariate = rownames(table), table, row.names = NULL))
}
write.csv(zph, file.path(here, "zph.csv"), row.names = FALSE, quote = FALSE)
writeLines(c(R.version.string, paste("survival", packageVersion("survival"))), file.path(here, "versions.txt"))
