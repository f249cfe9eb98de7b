// Prints the checked text line that wetside reads: name=valueUNIT for each
// channel, spaces between, then a semicolon and the checksum. For example:
//   dev=20.31C fan=1;C362
// Replace readDeveloper() and readFan() by what your probe needs. A probe that
// fails must print "dev=?" and never its last value.
#include <stdio.h>
#include <stdlib.h>
#include <stdint.h>

uint16_t checksum(const char *line) {
  uint16_t crc = 0xFFFF;
  while (*line) {
    crc ^= (uint8_t)*line++;
    for (int bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >> 1) ^ 0xA001 : crc >> 1;
  }
  return crc;
}

void setup() { Serial.begin(9600); }

void loop() {
  char line[60], sum[8];
  long dev = readDeveloper();  // hundredths of a degree Celsius; below -27315 when the probe fails
  if (dev < -27315) snprintf(line, sizeof line, "dev=? fan=%d", readFan());
  else snprintf(line, sizeof line, "dev=%s%ld.%02ldC fan=%d", dev < 0 ? "-" : "", labs(dev) / 100, labs(dev) % 100, readFan());
  snprintf(sum, sizeof sum, ";%04X", checksum(line));
  Serial.print(line);
  Serial.println(sum);
  delay(1000);
}
