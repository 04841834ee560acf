"""What is bought and sawn."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from armature.shop.bars import BarPlan, Offcut, SizeOnSale, Yard, bar_plan
from armature.shop.cutting import SolidEnds, cut_lengths, joining_allowances, solid_ends
from armature.shop.plan.forging import Forging
from armature.shop.stocklist import Sawing, SplitBar, bundled, sawing, split_bars, stock_pieces
from armature.tree import Floats


class Buying(Forging):
    """The plan of the saw."""

    @cached_property
    def cut(self) -> Floats:
        """Stock of each member, of one rod where it is a bundle, and of a pipe up to where its bore closes: (M,) mm."""
        tree, shop = self.tree, self.commission.shop
        added = shop.weld_allowance + joining_allowances(tree, self.commission, self.joints)
        single = cut_lengths(tree, self.commission, self.joints)
        return bundled(single, tree.lengths, self.heels, self._rods, shop.scale_loss, added)

    @cached_property
    def sawn_to(self) -> Floats:
        """What is sawn of each member, or of each of its rods, as it is printed: (M,) mm, up to the next step."""
        step = self.paper.length_mm
        return np.asarray(np.ceil(np.round(self.cut / step, 6)) * step)

    @cached_property
    def ends(self) -> SolidEnds:
        """The solid ends of pipes whose bore closes."""
        return solid_ends(self.tree, self.commission)

    @cached_property
    def sawn(self) -> Sawing:
        """The pieces of stock for each member."""
        shop = self.commission.shop
        longest = np.array([self.yard.longest(d) for d in self.tree.stock_diameters.tolist()])
        return sawing(self.tree, self.cut, self._rods, self.commission.steel.bars, longest, shop.scarf_factor)

    @cached_property
    def splits(self) -> tuple[SplitBar, ...]:
        """Members better made of two bars."""
        return tuple(split_bars(self.tree, self.commission.steel.bars))

    @cached_property
    def bars(self) -> BarPlan:
        """What to buy and how to saw it."""
        pieces = stock_pieces(self.sawn, self.ends)
        wanted = np.array([tag.partition(".")[0] not in self.made for tag in pieces.tags.tolist()], dtype=bool)
        return bar_plan(pieces.taken(np.flatnonzero(wanted)), self.yard)

    @cached_property
    def yard(self) -> Yard:
        """How bars are bought and sawn."""
        shop = self.commission.shop
        rack = tuple(Offcut(piece.bar, piece.length, count=piece.count) for piece in shop.buying.rack)
        sizes = tuple(
            SizeOnSale(each.bar, each.lengths or self._lengths_on_sale, each.cut_to_length)
            for each in shop.buying.sizes
        )
        return Yard(
            self._lengths_on_sale,
            shop.kerf,
            self.paper.length_mm,
            shop.buying.least_rest,
            rack,
            self.commission.steel.density,
            shop.buying.end_trim,
            shop.buying.spare_share,
            shop.buying.spare_bars,
            sizes,
        )

    @property
    def _lengths_on_sale(self) -> tuple[float, ...]:
        shop = self.commission.shop
        return shop.buying.lengths or (shop.bar_length,)
