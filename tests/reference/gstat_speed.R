# Ordinary kriging by gstat in R, with its time. Arguments: folder with points.csv and cells.csv, nugget, partial sill, range,
# neighbours. Out: {"seconds", "mean"}.
suppressPackageStartupMessages({library(sp); library(gstat)})
given <- commandArgs(trailingOnly = TRUE)
number <- as.numeric(given[-1])
points <- read.csv(file.path(given[1], "points.csv"))
cells <- read.csv(file.path(given[1], "cells.csv"))
coordinates(points) <- ~x+y
coordinates(cells) <- ~x+y
model <- vgm(number[2], "Sph", number[3], number[1])
least <- Inf
for (run in 1:3) {
  took <- system.time(found <- krige(z ~ 1, points, cells, model, nmax = number[4], debug.level = 0))[["elapsed"]]
  least <- min(least, took)
}
cat(sprintf('{"seconds": %.4f, "mean": %.12f}\n', least, mean(found$var1.pred)))
