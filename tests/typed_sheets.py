"""Sixty weigh sheets as people type them, every one another way: each is read right, or refused with the one line
that mends it. Made by hand; the weights are invented."""

from __future__ import annotations

OZ, LB = 28.349523125, 453.59237


def read(*pistons, kind="piston", first=1):
    """Cylinders from the first on with these weights: a number, or a tuple of several."""
    return {first + at: {kind: one if isinstance(one, tuple) else (one,)} for at, one in enumerate(pistons)}


def both(**kinds):
    """Cylinders 1, 2, … with a weight of each kind."""
    count = len(next(iter(kinds.values())))
    return {at + 1: {kind: (own[at],) for kind, own in kinds.items()} for at in range(count)}


READ = {
    "an average below": ("cyl;piston\n1;538.4\navg;538.4\n", read(538.4)),
    "commas and points": ("cylinder,piston\n1,538.4\n2,538.6\n", read(538.4, 538.6)),
    "semicolons and commas": ("cylinder;piston\n1;538,4\n2;538,6\n", read(538.4, 538.6)),
    "tabs from a spreadsheet": ("Cylinder\tPiston\n1\t538.4\n2\t538.6", read(538.4, 538.6)),
    "spaces between the columns": ("cyl   piston    pin\n1     538.4     112.1\n2     538.6     112.0\n",
                                   both(piston=(538.4, 538.6), pin=(112.1, 112.0))),
    "bars as in a wiki": ("#|piston|pin\n1|538.4|112.1\n2|538.6|112.0\n",
                          both(piston=(538.4, 538.6), pin=(112.1, 112.0))),
    "a number sign over the cylinders": ("#,piston\n1,538.4\n2,538.6\n", read(538.4, 538.6)),
    "a number sign before each": ("#,piston\n#1,538.4\n#2,538.6\n", read(538.4, 538.6)),
    "Cyl #": ("Cyl #,Piston\n1,538.4\n2,538.6\n", read(538.4, 538.6)),
    "Cyl. No.": ("Cyl. No.;Piston\n1;538.4\n2;538.6\n", read(538.4, 538.6)),
    "Hole": ("Hole,Piston\n1,538.4\n2,538.6\n", read(538.4, 538.6)),
    "No.": ("No.;Piston\n1;538.4\n2;538.6\n", read(538.4, 538.6)),
    "cylinders in words": ("Cylinder,Piston\nCyl 1,538.4\nCyl 2,538.6\n", read(538.4, 538.6)),
    "cylinders with a point": ("no;piston\n1.;538.4\n2.;538.6\n", read(538.4, 538.6)),
    "No. 1 and so on": ("Cylinder;Piston\nNo. 1;538.4\nNo. 2;538.6\n", read(538.4, 538.6)),
    "01 and 02": ("cylinder;piston\n01;538.4\n02;538.6\n", read(538.4, 538.6)),
    "1.0 from a spreadsheet": ("cylinder;piston\n1.0;538.4\n2.0;538.6\n", read(538.4, 538.6)),
    "the pin end is the small one": ("cyl,Pin End,Crank End\n1,171.2,452.3\n2,171.0,452.1\n",
                                     both(small_end=(171.2, 171.0), big_end=(452.3, 452.1))),
    "little end and large end": ("cyl,little end,large end\n1,171.2,452.3\n2,171.0,452.1\n",
                                 both(small_end=(171.2, 171.0), big_end=(452.3, 452.1))),
    "rod small, rod big": ("cyl,rod small,rod big\n1,171.2,452.3\n2,171.0,452.1\n",
                           both(small_end=(171.2, 171.0), big_end=(452.3, 452.1))),
    "weights in the heads": ("cyl,Piston wt.,Pin Weight\n1,538.4,112.1\n2,538.6,112.0\n",
                             both(piston=(538.4, 538.6), pin=(112.1, 112.0))),
    "wrist pins": ("cyl,Wrist Pin\n1,112.1\n2,112.0\n", read(112.1, 112.0, kind="pin")),
    "clips and ring packs": ("cyl,clips,ring pack\n1,3.2,41.0\n2,3.2,41.1\n",
                             both(locks=(3.2, 3.2), rings=(41.0, 41.1))),
    "bearing shells": ("cyl,Rod Bearing\n1,46.0\n2,46.1\n", read(46.0, 46.1, kind="bearings")),
    "units in brackets": ("cyl,piston (oz)\n1,18.99\n2,19.00\n", read(18.99 * OZ, 19.0 * OZ)),
    "units behind a comma": ("cyl;piston, g\n1;538.4\n2;538.6\n", read(538.4, 538.6)),
    "units beside each": ("cyl;piston\n1;538.4 g\n2;538.6g\n", read(538.4, 538.6)),
    "a unit column": ("cyl;piston;unit\n1;18.99;oz\n2;538.6;g\n", read(18.99 * OZ, 538.6)),
    "pounds and ounces": ("cyl;piston\n1;1 lb 2.99 oz\n2;1 lb 3 oz\n", read(18.99 * OZ, 19 * OZ)),
    "half ounces": ("cyl;piston\n1;18 1/2 oz\n2;18-3/4 oz\n", read(18.5 * OZ, 18.75 * OZ)),
    "pounds in words": ("cyl;piston\n1;1.19 lbs\n2;1.2 pounds\n", read(1.19 * LB, 1.2 * LB)),
    "kilograms": ("cyl;piston [kg]\n1;0.5384\n2;0.5386\n", read(538.4, 538.6)),
    "across": (",1,2,3\npiston,538.4,538.6,538.2\npin,112.1,112.0,112.2\n",
               both(piston=(538.4, 538.6, 538.2), pin=(112.1, 112.0, 112.2))),
    "across with heads in words": ("Cylinder;Cyl 1;Cyl 2\nPiston;538,4;538,6\nPin End;171,2;171,0\n",
                                   both(piston=(538.4, 538.6), small_end=(171.2, 171.0))),
    "across, tabs, part above": ("Part\t#1\t#2\nCrank End (oz)\t15.95\t15.9\n",
                                 read(15.95 * OZ, 15.9 * OZ, kind="big_end")),
    "across, the same part twice": ("part,1,2\npiston,538.4,538.6\npiston,538.5,538.6\n",
                                    read((538.4, 538.5), (538.6, 538.6))),
    "across with a title above": ("harbor pump\n\nHole,1,2\nrings,41.0,41.2\n", read(41.0, 41.2, kind="rings")),
    "across, in gaps": ("part     1       2\npiston   538.4   538.6\n", read(538.4, 538.6)),
    "across, one not weighed": ("part,1,2\npiston,538.4,-\n", {1: {"piston": (538.4,)}, 2: {}}),
    "two readings with a slash": ("cyl,piston\n1,538.4/538.5\n2,538.6/538.6\n",
                                  read((538.4, 538.5), (538.6, 538.6))),
    "two readings with a space": ("cyl;piston\n1;538,4 538,5\n2;538,6\n", read((538.4, 538.5), 538.6)),
    "three readings with semicolons": ("cyl,piston\n1,538.4; 538.5; 538.4\n2,538.6\n",
                                       read((538.4, 538.5, 538.4), 538.6)),
    "two readings with a comma, quoted": ('cyl,piston\n1,"538.4, 538.5"\n2,538.6\n', read((538.4, 538.5), 538.6)),
    "two columns of one part": ("cyl,piston,piston 2\n1,538.4,538.5\n2,538.6,538.6\n",
                                read((538.4, 538.5), (538.6, 538.6))),
    "three decimals everywhere, decimal comma": ("cyl;piston;locks\n1;538,412;3,204\n2;538,611;3,198\n",
                                                 both(piston=(538.412, 538.611), locks=(3.204, 3.198))),
    "three decimals, light parts alone": ("cyl;rings;locks\n1;41,012;3,204\n2;41,118;3,198\n",
                                          both(rings=(41.012, 41.118), locks=(3.204, 3.198))),
    "thousands and decimals": ("cyl;piston\n1;1.538,4\n2;1.538,6\n", read(1538.4, 1538.6)),
    "a reading a row": ("cylinder,part,reading\n1,Piston,538.4\n1,Pin End,171.2\n2,Piston,538.6\n",
                        {1: {"piston": (538.4,), "small_end": (171.2,)}, 2: {"piston": (538.6,)}}),
    "remarks between the rows": ("cyl,piston\n# new scale\n1,538.4\n2,538.6\n", read(538.4, 538.6)),
    "dashes for what was not weighed": ("cyl,piston,pin\n1,538.4,-\n2,n/a,112.0\n",
                                        {1: {"piston": (538.4,)}, 2: {"pin": (112.0,)}}),
    "windows line ends and a mark in front": ("\ufeffcyl,piston\r\n1,538.4\r\n2,538.6\r\n", read(538.4, 538.6)),
    "rod numbers beside": ("#;Rod #;Crank End\n1;R11;452,3\n2;R12;452,1\n", read(452.3, 452.1, kind="big_end")),
}  # fmt: skip

REFUSED = {
    "one weight that may be thousands": (
        "cyl;piston\n1;1,234\n2;1,236\n",
        "row 2, cylinder 1, piston: 1,234 can be read as thousands or as a decimal, and 1 more like it; allowed: "
        "1.2340 or 1234",
    ),
    "a heading that nobody knows": ("cyl;pistn\n1;538.4\n", "'pistn' is no known heading (did you mean piston?)"),
    "decimal commas between commas": (
        "cyl,piston\n1,538,4\n",
        "row 2: 3 columns under 2 headings; allowed: decimal commas only with ; or tab between the columns, or in "
        "quotes",
    ),
    "no cylinders at all": (
        "piston,pin\n538.4,112.1\n",
        "no heading row; allowed: a row of headings, one of them",
    ),
    "a cylinder twice": ("cyl;piston\n1;538.4\n1;538.6\n", "row 3, cylinder: 1 is in row 2, too"),
    "a row across without a name": (
        ",1,2\n,538.4,538.6\n",
        "row 2: names no part; allowed: the part, then what it weighs in each cylinder",
    ),
    "more weights across than cylinders": (
        "part,1,2\npiston,538,4,538,6\n",
        "row 2: 5 columns under 3 headings; allowed: decimal commas only with ; or tab between the columns",
    ),
    "a length for a weight": ("cyl;pin\n1;2.5 in\n", "row 2, cylinder 1, pin: 'in' is no unit of mass"),
}
