"""Pedigrees: order, faults, inbreeding, relationship, the trade's notation, genetic prediction."""

from upsides.pedigree.about import About, about
from upsides.pedigree.columns import Columns
from upsides.pedigree.completeness import Depth, completeness, depth
from upsides.pedigree.faults import Fault, Faults, find_faults
from upsides.pedigree.graph import Graph, ancestors, descendants, graph_of, kept, lineage, progeny
from upsides.pedigree.inbreeding import inbreeding, mendelian_share
from upsides.pedigree.library import Own, table_behind, table_of
from upsides.pedigree.notation import Duplicate, Line, duplicates, lines_of
from upsides.pedigree.page import Page, page
from upsides.pedigree.pedigree import Cut, Pedigree, Read, pedigree_of, read_pedigree
from upsides.pedigree.reading import Table, read_table
from upsides.pedigree.register import register_of
from upsides.pedigree.relationship import (
    Contributions,
    contributions,
    relationship,
    relationship_matrix,
    relationships,
    tabular,
    times_relationship,
    wright_relationship,
)

__all__ = [
    "About",
    "Columns",
    "Contributions",
    "Cut",
    "Depth",
    "Duplicate",
    "Fault",
    "Faults",
    "Graph",
    "Line",
    "Own",
    "Page",
    "Pedigree",
    "Read",
    "Table",
    "about",
    "ancestors",
    "completeness",
    "contributions",
    "depth",
    "descendants",
    "duplicates",
    "find_faults",
    "graph_of",
    "inbreeding",
    "kept",
    "lineage",
    "lines_of",
    "mendelian_share",
    "page",
    "pedigree_of",
    "progeny",
    "read_pedigree",
    "read_table",
    "register_of",
    "relationship",
    "relationship_matrix",
    "relationships",
    "table_behind",
    "table_of",
    "tabular",
    "times_relationship",
    "wright_relationship",
]
