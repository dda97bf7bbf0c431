# usage: Rscript rivals.R FOLDER
# The same fits as frostcal_bench, on the data it wrote into FOLDER, timed inside R: name, tab, processor
# milliseconds (median), tab, a remark. Needs Debian's r-base-core and r-cran-ordinal.
suppressPackageStartupMessages(library(ordinal))

median_ms <- function(repeats, inner, work) {
  times <- replicate(repeats, {
    start <- proc.time()
    for (i in seq_len(inner)) work()
    used <- proc.time() - start
    1000 * (used[["user.self"]] + used[["sys.self"]]) / inner
  })
  median(times)
}
show_row <- function(name, ms, remark = "") cat(sprintf("%s\t%.4f\t%s\n", name, ms, remark))

folder <- commandArgs(trailingOnly = TRUE)[1]
second_order <- "x1 + x2 + x3 + x1:x2 + x1:x3 + x2:x3 + I(x1^2) + I(x2^2) + I(x3^2)"

one <- read.csv(file.path(folder, "one.csv"))
one$grade <- factor(one$frost, levels = 0:5, ordered = TRUE)
formula_one <- as.formula(paste("grade ~", second_order))
fit <- clm(formula_one, data = one, link = "probit")
show_row("clm", median_ms(7, 20, function() {
  vcov(clm(formula_one, data = one, link = "probit"))
}), sprintf("log-likelihood %.6f", fit$logLik))
formula_line <- as.formula(paste("frost ~", second_order))
x <- model.matrix(formula_line, one)
show_row("lm", median_ms(7, 100, function() summary(lm(formula_line, data = one))),
         sprintf("residual sum of squares %.6f", sum(resid(lm(formula_line, data = one))^2)))
show_row("lm.fit", median_ms(7, 500, function() lm.fit(x, one$frost)))

formula_mixed <- as.formula(paste("grade ~", second_order, "+ (1 | bottle)"))
mixed <- suppressWarnings(clmm(formula_mixed, data = one, link = "probit"))
show_row("clmm", median_ms(3, 1, function() suppressWarnings(clmm(formula_mixed, data = one, link = "probit"))),
         sprintf("frost alone, bottles as the one effect, Laplace; log-likelihood %.6f", mixed$logLik))

shop <- read.csv(file.path(folder, "shop.csv"))
shop$grade <- factor(shop$frost, levels = 0:5, ordered = TRUE)
formula_shop <- as.formula(paste("grade ~ glass * (", second_order, ")"))
setTimeLimit(cpu = 60, transient = TRUE)
start <- proc.time()
outcome <- tryCatch({
  suppressWarnings(clm(formula_shop, data = shop, link = "probit"))
  "ended"
}, error = function(e) "not ended within 60 s")
used <- proc.time() - start
setTimeLimit()
show_row("shop", 1000 * (used[["user.self"]] + used[["sys.self"]]), paste("clm with a surface for each glass,", outcome))
