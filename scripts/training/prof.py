import sys,time,types; sys.path[:0]=['.','scripts/training','samples']
m=types.ModuleType('films'); m.film=None; m.Film=object; sys.modules['films']=m
from fractions import Fraction
import numpy as np, torch
from spotter.labelled import Labelled, Mark
from spotter import fit as F
from spotter.fit import *
from spotter.fit import _inputs,_loss,_follow
from spotter.batches import *
from spotter.network import *
class P(Planes):
    def __init__(s,clips,device):
        s.clips=clips; s.device=device; s.frames=[100]*len(clips); s.start=np.cumsum([0,*s.frames[:-1]])
        s.every=torch.randint(0,255,(sum(s.frames),4,96,128),dtype=torch.uint8,device=device)
        shaped=(1,4,1,1); k=torch.float16
        s.off=torch.tensor(OFFSET,dtype=k,device=device).view(shaped); s.scale=torch.tensor(SCALE,dtype=k,device=device).view(shaped); s.moves=torch.tensor(MOTION,device=device).view(shaped); s.before=torch.tensor([0.,.6,1,1],dtype=k,device=device).view(shaped)
clips=[Labelled(f'c{i}',None,'acted' if i%2 else 'calm','g',0,Fraction(30),100,((Mark(40,1,True,(.4,.5),2.,'blow'),) if i%2 else ())) for i in range(400)]
D=P(clips,'cuda:0'); w,c=drawn_from(clips,range(400),.0); d=Draw(D,w,c,0)
def T(f,n=12):
    for _ in range(3): f()
    torch.cuda.synchronize(); t=time.time()
    for _ in range(n): f()
    e=time.time(); torch.cuda.synchronize(); return f'{(time.time()-t)/n*1e3:.1f} ms (cpu {(e-t)/n*1e3:.1f})'
torch.set_num_threads(1); torch.backends.cudnn.benchmark=True
R=Recipe('x',0)
print('batch',T(lambda:d.batch(20)),flush=True)
b=d.batch(20)
def step(net,opt,x,b,kept,ac=torch.bfloat16):
    net.train()
    with torch.autocast('cuda',ac): s=net(x,20)
    l=_loss(s,b,R,None); opt.zero_grad(set_to_none=True); l.backward(); nn.utils.clip_grad_norm_(net.parameters(),1.); opt.step(); _follow(kept,getattr(net,'_orig_mod',net),.99)
import copy
for wd in ((8,16,16,32,32,48,48),(16,32,32,64,64,96,96)):
  for fmt in ('last','plain'):
    net=Network(Size(widths=wd)).cuda(); x=b.planes
    if fmt=='last': net=net.to(memory_format=torch.channels_last); x=x.contiguous(memory_format=torch.channels_last)
    kept=copy.deepcopy(net); opt=torch.optim.AdamW(net.parameters(),1e-3,fused=True)
    print(wd[0],fmt,'step',T(lambda:step(net,opt,x,b,kept)),flush=True)
    with torch.no_grad(), torch.autocast('cuda',torch.bfloat16): print('  fwd only',T(lambda:net(x,20)),flush=True)
    if wd[0]==16:
        from torch.profiler import profile, ProfilerActivity
        with profile(activities=[ProfilerActivity.CPU,ProfilerActivity.CUDA]) as pr:
            for _ in range(3): step(net,opt,x,b,kept)
            torch.cuda.synchronize()
        print(pr.key_averages().table(sort_by='cuda_time_total' if False else 'self_cuda_time_total',row_limit=16,max_name_column_width=70)[:4800],flush=True)
with torch.profiler.profile(activities=[torch.profiler.ProfilerActivity.CUDA]) as pr:
    for _ in range(3): d.batch(20)
    torch.cuda.synchronize()
print(pr.key_averages().table(sort_by='self_cuda_time_total',row_limit=10,max_name_column_width=60)[:3000])
try:
    net=Network(Size(widths=(16,32,32,64,64,96,96))).cuda().to(memory_format=torch.channels_last); x=b.planes.contiguous(memory_format=torch.channels_last); kept=copy.deepcopy(net); opt=torch.optim.AdamW(net.parameters(),1e-3,fused=True)
    t=time.time(); cn=torch.compile(net); step(cn,opt,x,b,kept); print('compile s',time.time()-t); print('compiled step',T(lambda:step(cn,opt,x,b,kept)),flush=True)
except Exception as e: print('compile failed',repr(e)[:300])
