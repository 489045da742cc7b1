"""Finds routes: from a house and a kit of parts to a way out and its proof. Knows moves, not gas, clauses or files.

The problem
-----------
Pipe leaves the collar, goes through holes or new cuts, and ends outdoors. Fittings turn it by their nominal angles,
and by their give, which makes pitch and nothing else. Legs have a least length (take-offs, sockets filled), hubs are
wider than pipe, everything keeps a gap to solids. Wanted is the least price: metres of run at one price, each fitting
at its own.

From site to proof
------------------
1. `problem`, `links`: every *chain* of passages from the collar's space to the outdoors. A hole fixes the pipe's place
   and direction, so a chain falls into *links* that share nothing but the sum of their prices. Cuts lie inside a link.
2. `directions`: which directions a run may take (level, plumb, diagonal in steps of 22 1/2 degrees about the
   building's axes, tilted by the pitch where level; the ends' own; the rolled offset aimed exactly from end to end),
   and which fitting turns one into another. `rolls`, `offsets`: rolled offsets beside other bends and to areas, each at
   the roll that is best for it in an empty room. `compounds`: three bends between fixed ends whose one free roll goes
   round in even steps, as what stands in the way decides which is best.
3. `reach`: a lower bound for turns in a given order *at any roll*, by weak duality. It orders the multisets of
   fittings, and is the bound for the continuous problem that stands beside every route. Once a link is opened, a second
   one, weak dual too, says what legs in its own directions measure at least (`directions.Sides`).
4. `fittings`, `strands`, `laying`: a bend is at first as small as any pattern of its angle; a way that breaks nothing
   is tried in each. A multiset becomes *strands*, sequences of directions with open lengths. Every condition on a
   corner is a linear row over the lengths. What cannot meet its ends is thrown out by the lemma of Farkas, thousands
   at a time.
5. `meeting`, `lp`: the least lengths of a strand are a small linear program. Between two fixed places all its bases are
   tried together; walls and what follows are rows more, for the dual simplex in batches, a pivot or two each.
6. `bodies`, `stretches`, `family`: a solution is held against the solids. A straight cylinder of known direction is
   clear of a convex body if one of few planes stands between them, so a broken gap is mended by one of few rows: a
   branch. Links between two fixed places have their strands in one family (`members`), any other link in one of its
   own, both of all kits of a house, so that they can be worked on at once. `tree` keeps what was found, as it is the
   same under every price.
7. `search`: best first over all of it. When nothing is left below the best solution that breaks nothing, that is the
   best there is in these directions; the least bound left is a bound for all that was not found.
8. `solver`: links are shared by chains, and searched only as far as it takes to raise the bound of a chain above what
   is found, or above that of the next. Those of one chain are searched side by side, and so are kits and prices
   (`together`): each goes its own way, and what they ask for at a time is done in one go; `conditions` says what they
   share. `couplings` then says where on a leg a coupling may stand.
9. `growing`: where the size may grow, the links up to and through a hole are searched with the smaller kit, those after
   it with the larger, from the place where the change begins; prices are shares, in metres of the larger.

What is proved, and under what assumptions, stands in DEVELOPERS.md.

References
----------
.. [1] M. Stanczak, C. Pralet, V. Vidal, V. Baudoui, Optimal Pipe Routing Techniques in an Obstacle-Free 3D Space,
   ICORES 2020: sequences of bends from a catalog first, lengths by linear programming.
.. [2] M. Blokland, R. D. van der Mei, J. F. J. Pruyn, J. Berkhout, Literature Survey on Automatic Pipe Routing,
   Operations Research Forum 4 (2023).
.. [3] A. H. Land, A. G. Doig, An automatic method of solving discrete programming problems, Econometrica 28 (1960)
   497-520.
.. [4] C. E. Lemke, The dual method of solving the linear programming problem, Naval Research Logistics Quarterly 1
   (1954) 36-47.
.. [5] S. Boyd, L. Vandenberghe, Convex Optimization, Cambridge 2004: duality, the lemma of Farkas, separating planes.
"""
