# Reference values for variograms and kriging from gstat, on the data set `meuse` of the package sp: log(zinc).
# Writes meuse.json beside it. Run: Rscript make-meuse.R (Debian: r-base-core r-cran-sp r-cran-gstat).
suppressMessages({library(sp); library(gstat)})
data(meuse); data(meuse.grid)
table <- data.frame(x = meuse$x, y = meuse$y, z = log(meuse$zinc))
num <- function(x) paste0("[", paste(formatC(x, digits = 12, format = "g"), collapse = ","), "]")
vario <- function(v) sprintf('{"pairs":%s,"lagM":%s,"gamma":%s}', num(v$np), num(v$dist), num(v$gamma))
spatial <- table; coordinates(spatial) <- ~x+y
classic <- variogram(z ~ 1, spatial)
robust <- variogram(z ~ 1, spatial, cressie = TRUE)
north45 <- variogram(z ~ 1, spatial, alpha = 45, tol.hor = 22.5)
shapes <- list(spherical = vgm(1, "Sph", 900, 1), exponential = vgm(1, "Exp", 300, 1), gaussian = vgm(0.5, "Gau", 400, 0.1), matern = vgm(0.5, "Mat", 200, 0.1, kappa = 1.5))
fits <- lapply(shapes, function(s) fit.variogram(classic, s))
fitText <- sapply(names(fits), function(n) { f <- fits[[n]]; sprintf('"%s":{"nugget":%.10g,"partialSill":%.10g,"rangeM":%.10g,"sse":%.10g}', n, f$psill[1], f$psill[2], f$range[2], attr(f, "SSErr")) })
# gstat's own iteration stops short of the least squares for the Gaussian shape (1.915e-5 against 1.762e-5): R's optim on the same sum.
squares <- function(p) sum(classic$np / classic$dist^2 * (classic$gamma - p[1] - p[2] * (1 - exp(-(classic$dist / p[3])^2)))^2)
best <- optim(c(0.1, 0.5, 400), squares, control = list(reltol = 1e-15, maxit = 10000, parscale = c(0.1, 0.5, 400)))
fitText["gaussian"] <- sprintf('"gaussian":{"nugget":%.10g,"partialSill":%.10g,"rangeM":%.10g,"sse":%.10g}', best$par[1], best$par[2], best$par[3], best$value)
pick <- seq(1, nrow(meuse.grid), by = 97)
at <- meuse.grid[pick, c("x", "y")]; target <- at; coordinates(target) <- ~x+y
sph <- vgm(0.5906, "Sph", 897, 0.0507)
all <- krige(z ~ 1, spatial, target, sph, debug.level = 0)
near <- krige(z ~ 1, spatial, target, sph, nmax = 16, debug.level = 0)
plane <- krige(z ~ x + y, spatial, target, sph, debug.level = 0)
noisy <- krige(z ~ 1, spatial, target, vgm(0.0507, "Err", 0, add.to = vgm(0.5906, "Sph", 897)), debug.level = 0)
matern <- krige(z ~ 1, spatial, target, vgm(0.5, "Mat", 250, 0.05, kappa = 1.5), debug.level = 0)
cv <- krige.cv(z ~ 1, spatial, sph, debug.level = 0, verbose = FALSE)
two <- function(k) sprintf('{"value":%s,"variance":%s}', num(k$var1.pred), num(k$var1.var))
cat('{\n"made":"', R.version.string, ", gstat ", as.character(packageVersion("gstat")), ", sp ", as.character(packageVersion("sp")), ", ", format(Sys.Date()), '",\n',
 '"x":', num(table$x), ',\n"y":', num(table$y), ',\n"z":', num(table$z), ',\n',
 '"classic":', vario(classic), ',\n"robust":', vario(robust), ',\n"azimuth45":', vario(north45), ',\n',
 '"fits":{', paste(fitText, collapse = ",\n"), '},\n',
 '"targetX":', num(at$x), ',\n"targetY":', num(at$y), ',\n',
 '"ordinary":', two(all), ',\n"nearest16":', two(near), ',\n"plane":', two(plane), ',\n"measurementError":', two(noisy), ',\n"matern":', two(matern), ',\n',
 '"crossValidation":{"meanZ":', sprintf("%.10g", mean(cv$zscore)), ',"sdZ":', sprintf("%.10g", sd(cv$zscore)), ',"rms":', sprintf("%.10g", sqrt(mean(cv$residual^2))), '}\n}\n', sep = "", file = "meuse.json")
