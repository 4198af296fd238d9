# Makes the reference values of the network tests again: Rscript make_network_reference.R, in an empty folder.
# Needs R with spatstat.linnet (Debian: r-base-core r-cran-spatstat.linnet); made with R 4.2.2, spatstat.linnet 3.0-6,
# spatstat.data 3.0-0. The files kept here hold every 1-based segment and vertex, 300 of the 3,318 query points of each
# density, every eighth of the 513 radii of K, and the distances from the first twelve points.
suppressMessages({library(spatstat.data); library(spatstat.geom); library(spatstat.linnet)})
write <- function(table, name) write.csv(format(table, digits = 17, trim = TRUE), name, row.names = FALSE, quote = FALSE)
streets <- as.linnet(chicago)
crimes <- unmark(chicago)
vertex <- as.data.frame(vertices(streets))
write(data.frame(id = seq_len(nrow(vertex)), x = vertex$x, y = vertex$y), "chicago_vertices.csv")
length_ft <- lengths_psp(as.psp(streets))
write(data.frame(id = seq_along(streets$from), from = streets$from, to = streets$to, length = length_ft), "chicago_segments.csv")
place <- as.data.frame(coords(chicago))
write(data.frame(id = seq_len(nrow(place)), seg = place$seg, tp = place$tp, mark = marks(chicago)), "chicago_points.csv")
density_at <- function(sd, continuous, name) {
  made <- densityEqualSplit(crimes, sigma = sd, kernel = "epanechnikov", continuous = continuous,
                            epsilon = 1e-12, verbose = FALSE, savehistory = FALSE)
  asked <- attr(made, "df")
  write(data.frame(seg = asked$mapXY, tp = asked$tp, density = asked$values), name)
}
density_at(30, TRUE, "chicago_equal_split_sd30.csv")
density_at(60, TRUE, "chicago_equal_split_sd60.csv")
density_at(60, FALSE, "chicago_equal_split_discontinuous_sd60.csv")
for (sd in c(30, 60)) {
  heat <- densityHeat(crimes, sigma = sd, at = "points", leaveoneout = FALSE)
  write(data.frame(id = seq_along(heat), density = as.numeric(heat)), sprintf("chicago_heat_sd%g.csv", sd))
}
apart <- pairdist(crimes)[1:12, ]
write(data.frame(from = as.vector(row(apart)), to = as.vector(col(apart)), distance = as.vector(apart)), "chicago_distances.csv")
r <- seq(0, 0.98 * boundingradius(streets), length.out = 513)
kept <- seq(1, 513, by = 8)
table_of_k <- function(corrected, plain, name) {
  write(data.frame(r = r, k_corrected = corrected$est, k_plain = plain$est)[kept, ], name)
}
table_of_k(linearK(crimes, r = r), linearK(crimes, r = r, correction = "none"), "chicago_k.csv")
cross <- function(correction) linearKcross(chicago, "theft", "assault", r = r, correction = correction)
table_of_k(cross("Ang"), cross("none"), "chicago_k_theft_assault.csv")
