"""The trade's rules of thumb for the first hours: common practice, with no published source; all adjustable."""

BREATHING_WITHIN_S = 30.0
SUCK_REFLEX_AT_MIN = 10.0
STANDING_WITHIN_H = 1.0
STANDING_LATE_H = 2.0
FED_WITHIN_H = 2.0
MECONIUM_WITHIN_H = 3.0
COLOSTRUM_MARKS_H = (4.0, 8.0, 12.0, 24.0)
COLOSTRUM_SHARE_OF_WEIGHT = 0.10
COLOSTRUM_AMOUNT_BY_H = 10.0
CALF_FIRST_FEED_ML = 2000.0
SMALL_FIRST_FEED_ML = 80.0

# Windows in which losses are counted, in hours since birth; the last runs to the end of follow-up.
WINDOWS_H: dict[str, float] = {"24 h": 24.0, "7 d": 168.0}
FOLLOW_UP_D = 42.0
