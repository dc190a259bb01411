"""Where a season's newborns meet the estimates: measures of occurrence and of association, as the two agreed
frames.

``rates``      groups..., events, n, share, low, high            one row per group
``curve``      groups..., age_h, at_risk, events, share, low, high   one row per group and age
``contrasts``  groups..., versus, estimate, low, high, p, method      one row per group held against another
"""
