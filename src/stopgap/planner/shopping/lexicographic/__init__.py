"""The best purchase, aim after aim, and the next best ones.

The aims, each pursued only as far as the aims before it allow: least shortfall (with a budget;
otherwise every need comes as near as everything for sale would bring it), where pencils that lay
badly are replaced the fewest of another core where their own serves as well, least cost, fewest
pencils, least toll of the blends, and at last the pencils that come first in the order of addresses
(least sum of their ranks), so that the same question has the same answer. Before the toll comes
how many blends must leave a bent path for its chord, since there only chains of one path compare.
"""
