/*
 * The floor of `bench:scan-laz FILE`: reads a LAZ file with LASzip and crops it as the bench does, and says the processor
 * time, the time by the clock and sums of the raw coordinates. The bench builds it where LASzip is there (Debian 11:
 * liblaszip-dev 3.4.3-2). With --places before the file LASzip is told to leave out all but places and marks, which it can
 * in formats 6 and up. With a second file it packs instead: laszip-read IN.las OUT.laz.
 */
#include <laszip/laszip_api.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static void check(laszip_POINTER it, int failed) {
  laszip_CHAR *words = "";
  if (!failed) return;
  laszip_get_error(it, &words);
  fprintf(stderr, "LASzip: %s\n", words);
  exit(1);
}

static double seconds(void) {
  struct rusage u;
  getrusage(RUSAGE_SELF, &u);
  return u.ru_utime.tv_sec + u.ru_stime.tv_sec + 1e-6 * (u.ru_utime.tv_usec + u.ru_stime.tv_usec);
}

static double by_the_clock(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return t.tv_sec + 1e-9 * t.tv_nsec;
}

int main(int count, char **files) {
  static double kept[3 * 65536];
  const double begun = seconds(), from = by_the_clock();
  const int places = count > 2 && strcmp(files[1], "--places") == 0;
  laszip_POINTER reader, writer;
  laszip_header_struct *header;
  laszip_point_struct *point;
  laszip_BOOL packed;
  unsigned long long points, inside = 0;
  long long sum[3] = {0, 0, 0};
  if (count < 2) return 2;
  if (places) {
    files++;
    count--;
  }
  check(0, laszip_create(&reader));
  if (places)
    check(reader, laszip_decompress_selective(reader, laszip_DECOMPRESS_SELECTIVE_Z |
                                                          laszip_DECOMPRESS_SELECTIVE_CLASSIFICATION |
                                                          laszip_DECOMPRESS_SELECTIVE_FLAGS));
  check(reader, laszip_open_reader(reader, files[1], &packed));
  check(reader, laszip_get_header_pointer(reader, &header));
  check(reader, laszip_get_point_pointer(reader, &point));
  points = header->number_of_point_records ? header->number_of_point_records : header->extended_number_of_point_records;
  if (count > 2) {
    check(0, laszip_create(&writer));
    check(writer, laszip_set_header(writer, header));
    check(writer, laszip_open_writer(writer, files[2], 1));
    for (unsigned long long i = 0; i < points; i++) {
      check(reader, laszip_read_point(reader));
      check(writer, laszip_set_point(writer, point));
      check(writer, laszip_write_point(writer));
    }
    check(writer, laszip_close_writer(writer));
    return 0;
  }
  for (unsigned long long i = 0; i < points; i++) {
    check(reader, laszip_read_point(reader));
    sum[0] += point->X;
    sum[1] += point->Y;
    sum[2] += point->Z;
    const double x = point->X * header->x_scale_factor + header->x_offset;
    const double y = point->Y * header->y_scale_factor + header->y_offset;
    const double z = point->Z * header->z_scale_factor + header->z_offset;
    if (x < -0.1 || x > 19 || y < -1.2 || y > 1.1 || z < -0.5 || z > 0.5) continue;
    double *at = kept + 3 * (inside++ & 65535);
    at[0] = x, at[1] = y, at[2] = z;
  }
  printf("{\"points\":%llu,\"seconds\":%.3f,\"clock\":%.3f,\"sums\":[%lld,%lld,%lld]}\n", points, seconds() - begun,
         by_the_clock() - from, sum[0], sum[1], sum[2]);
  return 0;
}
