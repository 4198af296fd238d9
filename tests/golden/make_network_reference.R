# Makes the reference values of the density tests again: Rscript make_network_reference.R, in an empty folder.
# Needs R with spatstat (Debian: r-cran-spatstat); made with R 4.2.2, spatstat.linnet 3.0-6, spatstat.data 3.0-0.
# The files kept here hold every 1-based segment and vertex, and 300 of the 3,318 query points of each density.
suppressMessages(library(spatstat))
write <- function(table, name) write.csv(format(table, digits = 17, trim = TRUE), name, row.names = FALSE, quote = FALSE)
streets <- as.linnet(chicago)
vertex <- as.data.frame(vertices(streets))
write(data.frame(id = seq_len(nrow(vertex)), x = vertex$x, y = vertex$y), "chicago_vertices.csv")
length_ft <- lengths_psp(as.psp(streets))
write(data.frame(id = seq_along(streets$from), from = streets$from, to = streets$to, length = length_ft), "chicago_segments.csv")
place <- as.data.frame(coords(chicago))
write(data.frame(id = seq_len(nrow(place)), seg = place$seg, tp = place$tp), "chicago_points.csv")
density_at <- function(sd, continuous, name) {
  made <- densityEqualSplit(unmark(chicago), sigma = sd, kernel = "epanechnikov", continuous = continuous,
                            epsilon = 1e-12, verbose = FALSE, savehistory = FALSE)
  asked <- attr(made, "df")
  write(data.frame(seg = asked$mapXY, tp = asked$tp, density = asked$values), name)
}
density_at(30, TRUE, "chicago_equal_split_sd30.csv")
density_at(60, TRUE, "chicago_equal_split_sd60.csv")
density_at(60, FALSE, "chicago_equal_split_discontinuous_sd60.csv")
